"""Rows and columns of the catalogue's tables by name, for a type checker: a misspelt column is an error.

Made from ``catalog/tables.py`` by ``python -m tests.renew``; do not change it by hand. A row is a plain dict: numbers
as float, not a number where not stated and without default; a table's columns are arrays, the part ids apart.
"""

from __future__ import annotations

from typing import Literal, TypedDict


class PanelRow(TypedDict):
    """A row of panels.csv."""

    part: str  # the part's id, unique across all files
    pmax_w: float  # W; rated power
    voc_v: float  # V; open-circuit voltage
    vmp_v: float  # V; voltage at maximum power
    isc_a: float  # A; short-circuit current
    imp_a: float  # A; current at maximum power
    voc_pct_per_c: float  # %/degC; change of voc with cell temperature; negative
    pmax_pct_per_c: float  # %/degC; change of power with cell temperature; negative
    vmp_pct_per_c: float  # %/degC; change of vmp with cell temperature; negative
    noct_c: float  # degC; nominal operating cell temperature
    bifacial_pct: float  # %; power of the rear side as a share of the front
    length_mm: float  # mm; length
    width_mm: float  # mm; width
    weight_kg: float  # kg; weight of one
    max_system_v: float  # V; highest system voltage it may stand in
    max_fuse_a: float  # A; largest series fuse
    listed: bool  # yes where a recognised laboratory lists the part; empty counts as no
    note: str  # anything else


PanelColumn = Literal[
    "pmax_w",
    "voc_v",
    "vmp_v",
    "isc_a",
    "imp_a",
    "voc_pct_per_c",
    "pmax_pct_per_c",
    "vmp_pct_per_c",
    "noct_c",
    "bifacial_pct",
    "length_mm",
    "width_mm",
    "weight_kg",
    "max_system_v",
    "max_fuse_a",
    "listed",
    "note",
]


class ConverterRow(TypedDict):
    """A row of converters.csv."""

    part: str  # the part's id, unique across all files
    continuous_w: float  # W; power it gives without end
    continuous_va: float  # VA; apparent power it gives without end
    surge_va: float  # VA; apparent power it gives for surge_s
    surge_s: float  # s; how long it gives surge_va
    leg_va: float  # VA; apparent power of one leg without end
    leg_surge_va: float  # VA; apparent power of one leg for surge_s
    efficiency_pct: float  # %; efficiency at half to full load, not the peak
    idle_w: float  # W; own draw when nothing runs
    hz: str  # Hz; frequencies it makes, with ; between; empty = not stated
    bank_class_v: float  # V; bank class
    bank_min_v: float  # V; lowest bank voltage
    bank_max_v: float  # V; highest bank voltage
    charge_a: float  # A; most amps into the bank from all sources
    charge_settable: bool  # yes where the charging amps can be set lower
    trackers: float  # solar trackers
    tracker_max_v: float  # V; highest voltage a tracker survives
    tracker_min_v: float  # V; lowest voltage a tracker works at
    tracker_top_v: float  # V; highest voltage a tracker works at
    tracker_start_v: float  # V; voltage at which a tracker wakes
    tracker_usable_a: float  # A; most amps a tracker makes use of
    tracker_isc_a: float  # A; most short-circuit amps a tracker may be offered
    tracker_max_w: float  # W; most panel power on a tracker
    tracker_usable_w: float  # W; most power a tracker gives
    tracker_strings: float  # most strings on a tracker
    array_max_w: float  # W; most panel power on one converter
    array_usable_w: float  # W; most solar power of one converter
    max_units: float  # most units side by side
    units_120: float  # 120 V: units that together make this supply; empty = it cannot
    units_120_240: float  # 120/240 V: units that together make this supply; empty = it cannot
    units_230: float  # 230 V: units that together make this supply; empty = it cannot
    listed: bool  # yes where a recognised laboratory lists the part; empty counts as no
    weight_kg: float  # kg; weight of one
    note: str  # anything else


ConverterColumn = Literal[
    "continuous_w",
    "continuous_va",
    "surge_va",
    "surge_s",
    "leg_va",
    "leg_surge_va",
    "efficiency_pct",
    "idle_w",
    "hz",
    "bank_class_v",
    "bank_min_v",
    "bank_max_v",
    "charge_a",
    "charge_settable",
    "trackers",
    "tracker_max_v",
    "tracker_min_v",
    "tracker_top_v",
    "tracker_start_v",
    "tracker_usable_a",
    "tracker_isc_a",
    "tracker_max_w",
    "tracker_usable_w",
    "tracker_strings",
    "array_max_w",
    "array_usable_w",
    "max_units",
    "units_120",
    "units_120_240",
    "units_230",
    "listed",
    "weight_kg",
    "note",
]


class BatteryRow(TypedDict):
    """A row of batteries.csv."""

    part: str  # the part's id, unique across all files
    chemistry: str  # chemistry
    class_v: float  # V; voltage class
    nominal_v: float  # V; nominal voltage
    min_v: float  # V; lowest voltage in use
    charge_v: float  # V; highest voltage it is ever charged to, equalising included
    capacity_ah: float  # Ah; capacity
    usable_pct: float  # %; deepest discharge as a share of capacity
    aged_pct: float  # %; capacity left at the end of its life
    daily_pct: float  # %; deepest discharge of an ordinary night
    capacity_pct_per_c: float  # %/degC; capacity lost for each degC below 25
    round_trip_pct: float  # %; energy out for energy in
    discharge_a: float  # A; most amps out without end
    peak_a: float  # A; most amps out for peak_s
    peak_s: float  # s; how long it gives peak_a
    charge_a: float  # A; most amps in
    charge_min_a: float  # A; least amps in that mix its acid
    r_mohm: float  # mohm; inner resistance, new and at 25 degC
    short_circuit_a: float  # A; short-circuit amps that it can give
    max_series: float  # most in series
    max_parallel: float  # most strings in parallel
    coldest_charge_c: float  # degC; coldest at which it may be charged
    coldest_discharge_c: float  # degC; coldest at which it may be discharged
    hottest_charge_c: float  # degC; hottest at which it may be charged
    hottest_discharge_c: float  # degC; hottest at which it may be discharged
    listed: bool  # yes where a recognised laboratory lists the part; empty counts as no
    weight_kg: float  # kg; weight of one
    note: str  # anything else


BatteryColumn = Literal[
    "chemistry",
    "class_v",
    "nominal_v",
    "min_v",
    "charge_v",
    "capacity_ah",
    "usable_pct",
    "aged_pct",
    "daily_pct",
    "capacity_pct_per_c",
    "round_trip_pct",
    "discharge_a",
    "peak_a",
    "peak_s",
    "charge_a",
    "charge_min_a",
    "r_mohm",
    "short_circuit_a",
    "max_series",
    "max_parallel",
    "coldest_charge_c",
    "coldest_discharge_c",
    "hottest_charge_c",
    "hottest_discharge_c",
    "listed",
    "weight_kg",
    "note",
]


class RackRow(TypedDict):
    """A row of racks.csv."""

    part: str  # the part's id, unique across all files
    mount: str  # what it stands on
    max_width_mm: float  # mm; widest panel
    max_length_mm: float  # mm; longest panel
    max_panel_kg: float  # kg; heaviest panel
    per_panel: float  # units for each panel
    per_row: float  # units for each row besides
    max_row: float  # most panels in a row
    ballast_kg: float  # kg; ballast of one unit
    heat_c: float  # degC; by how much its panels' cells are hotter than in the open
    listed: bool  # yes where a recognised laboratory lists the part; empty counts as no
    weight_kg: float  # kg; weight of one
    note: str  # anything else


RackColumn = Literal[
    "mount",
    "max_width_mm",
    "max_length_mm",
    "max_panel_kg",
    "per_panel",
    "per_row",
    "max_row",
    "ballast_kg",
    "heat_c",
    "listed",
    "weight_kg",
    "note",
]


class ExtraRow(TypedDict):
    """A row of extras.csv."""

    part: str  # the part's id, unique across all files
    per: str  # what it is counted by
    quantity: float  # pieces for each; the total is rounded up
    when: str  # when it is needed
    weight_kg: float  # kg; weight of one
    note: str  # anything else


ExtraColumn = Literal[
    "per",
    "quantity",
    "when",
    "weight_kg",
    "note",
]


class StarterRow(TypedDict):
    """A row of starters.csv."""

    part: str  # the part's id, unique across all files
    kind: str  # kind of starter
    phases_in: float  # phases of the supply it stands on
    makes_phases: float  # phases it makes for the motor
    running_a: float  # A; most running amps
    start_factor: float  # share of the direct starting amps left; of a drive it is not used
    start_volts_pct: float  # %; volts that the motor has while its amps peak, of the supply's
    floor_x: float  # never less than this multiple of the running amps
    ramp_s: float  # s; length of its ramp
    efficiency_pct: float  # %; efficiency of a drive; other kinds lose nothing
    input_power_factor: float  # power factor at which a drive draws from the supply
    motors: str  # motor kinds it may start, with ; between
    volts_min: float  # V; lowest load voltage
    volts_max: float  # V; highest load voltage
    listed: bool  # yes where a recognised laboratory lists the part; empty counts as no
    weight_kg: float  # kg; weight of one
    note: str  # anything else


StarterColumn = Literal[
    "kind",
    "phases_in",
    "makes_phases",
    "running_a",
    "start_factor",
    "start_volts_pct",
    "floor_x",
    "ramp_s",
    "efficiency_pct",
    "input_power_factor",
    "motors",
    "volts_min",
    "volts_max",
    "listed",
    "weight_kg",
    "note",
]


class TankRow(TypedDict):
    """A row of tanks.csv."""

    part: str  # the part's id, unique across all files
    volume_l: float  # L; volume
    usable_pct: float  # %; share of the volume that can be drawn
    footprint_mm: float  # mm; diameter or longer side of its base
    weight_kg: float  # kg; weight of one
    note: str  # anything else


TankColumn = Literal[
    "volume_l",
    "usable_pct",
    "footprint_mm",
    "weight_kg",
    "note",
]

PartRow = PanelRow | ConverterRow | BatteryRow | RackRow | ExtraRow | StarterRow | TankRow
