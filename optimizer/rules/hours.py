"""The rules of an hour of the replay: from light to what the array makes, and who gets it (W; of an hour, Wh).

Hours are the last axis; further axes before it may be bundles or years, as numpy broadcasts them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.rules.figure_types import Array
from optimizer.rules.strings import NOCT_AIR_C, NOCT_IRRADIANCE, STANDARD_CELL_C

STANDARD_LIGHT = 1000.0  # W/m2 at which a panel is rated
NEGLIGIBLE_SHARE = 0.01  # of what critical loads ask: an hour that lacks no more is not short
NEGLIGIBLE_WH = 1e-6


def cell_temperature(air_c: Array, plane_w_m2: Array, noct_c: Array | float, heat_c: Array | float) -> Array:
    """Cell °C: air + (NOCT - 20)/800·G (Ross; IEC 61215's NOCT), and ``heat_c`` more on a rack that holds panels close
    to what is behind them, at any light."""
    return air_c + (noct_c - NOCT_AIR_C) / NOCT_IRRADIANCE * plane_w_m2 + heat_c


def heat_factor(pct_per_c: Array | float, cell_c: Array) -> Array:
    """Factor on power or volts at a cell temperature; ``pct_per_c`` in %/°C."""
    return 1 + pct_per_c / 100 * (cell_c - STANDARD_CELL_C)


def offered_power(
    pmax_w: Array | float, cells_w_m2: Array, pmax_pct_per_c: Array | float, cell_c: Array, array_losses: float
) -> Array:
    """W that a panel offers: pmax·L/1000·(1 + γ/100·(T - 25))·array_losses, never below 0 (PVWatts; low light is taken
    as linear). ``cells_w_m2``: the light that reaches the cells."""
    offered: Array = pmax_w * cells_w_m2 / STANDARD_LIGHT * heat_factor(pmax_pct_per_c, cell_c) * array_losses
    return np.maximum(offered, 0.0)


def handed_on(
    string_w: Array, parallel: Array | float, usable_w: Array | float, usable_a: Array | float, string_v: Array
) -> Array:
    """W that a tracker hands on of ``parallel`` strings: what they offer, at most ``usable_w``, and at most the A that
    it makes use of at ``string_v``, the volts of a string at its best in that heat."""
    ceiling = np.minimum(usable_w, usable_a * np.maximum(string_v, 0.0))
    given: Array = np.minimum(parallel * string_w, ceiling)
    return given


def asked_power(loads_w: Array, efficiency: Array | float, idle_w: Array | float, units: Array | float) -> Array:
    """W asked of array and bank: the loads through the converter, and its idle draw."""
    return loads_w / efficiency + idle_w * units


@dataclass(frozen=True)
class HourFlows:
    """Where the W of each hour go, all before the converter: ``direct`` from the array to what is asked, ``charging``
    from it into the bank, ``stored`` what is kept of that, ``drawn`` from the bank, ``curtailed`` what neither takes,
    ``unserved`` what lacks. ``level``: Wh in the bank after each hour."""

    direct: Array
    charging: Array
    stored: Array
    drawn: Array
    curtailed: Array
    unserved: Array
    level: Array


def bank_step(sun_w: Array, asked_w: Array, charge_w: Array | float, round_trip: Array | float) -> Array:
    """Wh by which each hour would move a bank that is neither full nor empty: the surplus, at most ``charge_w`` of it,
    of which ``round_trip`` is stored; or what lacks, drawn."""
    surplus = sun_w - asked_w
    step: Array = np.where(surplus > 0, np.minimum(surplus, charge_w) * round_trip, surplus)
    return step


def flows(sun_w: Array, asked_w: Array, round_trip: Array | float, before: Array, level: Array) -> HourFlows:
    """Who gets what, once the bank's Wh ``before`` and after each hour (``level``) are known: sun first serves what is
    asked, then the bank; what lacks comes from the bank. Every W is counted once:
    sun = direct + charging + curtailed, asked = direct + drawn + unserved, level - before = stored - drawn."""
    direct = np.minimum(sun_w, asked_w)
    moved = level - before
    stored, drawn = np.maximum(moved, 0.0), np.maximum(-moved, 0.0)
    charging = stored / round_trip
    curtailed = np.maximum(sun_w - direct - charging, 0.0)
    unserved = np.maximum(asked_w - direct - drawn, 0.0)
    return HourFlows(direct, charging, stored, drawn, curtailed, unserved, level)


def tank_flows(pump_l: Array, drawn_l: Array, before: Array, level: Array) -> tuple[Array, Array]:
    """L that are pumped, and L of the draw that an empty tank lacks, of a tank that holds ``before`` and ``level`` L
    before and after each hour: the pump rests while the tank has no room. ``pump_l``: what the sun left over would
    pump. pumped - (drawn - lacking) = level - before."""
    lacking = np.maximum(drawn_l - before - pump_l, 0.0)
    pumped: Array = np.clip(level - before + drawn_l - lacking, 0.0, pump_l)
    return pumped, lacking


def critical_unserved(unserved_w: Array, shed_w: Array) -> Array:
    """What critical loads lack: what is unserved beyond ``shed_w``, which the loads that are not critical ask."""
    return np.maximum(unserved_w - shed_w, 0.0)


def is_short(lacking_w: Array, critical_w: Array) -> np.ndarray:
    """Hours in which over 1 % of what the critical loads ask is unserved."""
    short: np.ndarray = lacking_w > np.maximum(NEGLIGIBLE_SHARE * critical_w, NEGLIGIBLE_WH)
    return short
