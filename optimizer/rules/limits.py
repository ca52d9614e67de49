"""The registry: every limit that a bundle must meet, as data.

Margins, explanations, pages and documents read this registry; nothing else knows a limit's meaning. ``working``
is the rule as a line with named slots, each with the unit to print it in; only ``optimizer.writing`` fills it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, cast

LimitKind = Literal["definition", "safety", "reserve", "wish"]

CP = "common practice, no source"
RULES_VERSION = 1  # raise it with any rule, limit or default that may change an answer: kept answers are solved again


@dataclass(frozen=True)
class Limit:
    """One limit family.

    ``kinds``: a definition is never loosened; a safety limit is judged against the raw rating and never offered
    as a way out; a reserve is what lies between the raw rating and the limit; a wish is the person's to change.
    ``reserve`` names the reserve of the job that widens it. ``mend`` says what cures a bundle that fails it.
    """

    name: str
    meaning: str
    unit: str
    sense: Literal["at most", "at least", "holds"]
    kinds: tuple[LimitKind, ...]
    source: str
    mend: str
    working: str
    reserve: str | None = None


def _limit(
    name: str, meaning: str, unit: str, sense: Literal["at most", "at least", "holds"], kinds: str, source: str,
    mend: str, working: str, reserve: str | None = None,
) -> Limit:  # fmt: skip
    parts = cast(tuple[LimitKind, ...], tuple(kinds.split()))
    return Limit(name, meaning, unit, sense, parts, source, mend, working, reserve)


_ALL = (
    # the converter
    _limit("supply-match", "the converter's frequency is the supply's", "", "holds", "definition",
           "nameplate data", "a converter that states this frequency", "{hz:Hz}; the converter states {stated}"),
    _limit("service", "the units make the supply, and no more are joined than may be", "units", "at most",
           "definition", "nameplate data", "another number of units, or another converter",
           "{units:count} in use; it takes {step:count} to make the supply"),
    _limit("tracker-count", "no more trackers are used than the converters have", "trackers", "at most",
           "definition", "nameplate data", "fewer strings, or another converter",
           "{used:count} used; {units:count} x {trackers:count}"),
    _limit("running-power", "the converters carry all loads at once", "W", "at most", "safety reserve",
           f"NEC 710.15(A), from memory; its reserve: {CP}", "a larger converter, or less load at once",
           "{running_w:W} x {reserve:factor}", "running"),
    _limit("running-apparent", "the converters carry the apparent power of all loads at once", "VA", "at most",
           "safety reserve", f"NEC 710.15(A), from memory; its reserve: {CP}",
           "a larger converter, or less load at once", "{running_va:VA} x {reserve:factor}", "running"),
    _limit("starting-surge", "the converters carry each start as long as it lasts", "VA", "at most",
           "safety reserve", f"nameplate data; its reserve: {CP}",
           "a converter with more surge for long enough, or a softer start",
           "{start_va:VA} x {reserve:factor} for {seconds:s}; rated {surge_s:s}", "starting"),
    _limit("start-volts", "each motor has volts enough at the end of its cable to start", "%", "at least", "safety",
           "makers' handbooks and generator tables agree, from memory",
           "a thicker or shorter cable, or another starter",
           "{start_pct:%} x (1 - {cable_drop:factor} x {start_factor:factor})"),
    _limit("leg-balance", "neither leg of a 120/240 V supply is overloaded, running or starting", "VA", "at most",
           "safety reserve", f"nameplate data; its reserve: {CP}",
           "move a 120 V load to the other leg, or a converter with stronger legs",
           "{leg_va:VA} on the heavier leg x {reserve:factor}", "running"),
    _limit("charger", "the charger can put the night's energy back in a day", "Wh", "at most", "definition",
           "energy balance", "a converter with more charging current",
           "{night_wh:Wh} / {round_trip:factor} into the bank"),
    _limit("array-total", "the panels are no more than the converters take", "W", "at most", "safety",
           "nameplate data", "fewer panels, or a converter that takes more", "{panels:count} x {pmax_w:W}"),
    # strings
    _limit("cold-voltage", "a string on the coldest morning stays below what the tracker survives", "V", "at most",
           "safety reserve", f"NEC 690.7(A); its reserve: {CP}", "fewer panels in series",
           "{series:count} x {voc_v:V} x {factor:factor4}", "voltage"),
    _limit("panel-voltage", "a string on the coldest morning stays below what its panels are built for", "V",
           "at most", "safety", "IEC 61730, from memory", "fewer panels in series",
           "{series:count} x {voc_v:V} x {factor:factor4}"),
    _limit("code-voltage", "a string on the coldest morning stays below the ceiling for the site", "V", "at most",
           "safety", "NEC 690.7", "fewer panels in series", "{series:count} x {voc_v:V} x {factor:factor4}"),
    _limit("hot-voltage", "a string in full heat stays above what the tracker works at", "V", "at least",
           "definition reserve", f"nameplate data; its reserve: {CP}", "more panels in series",
           "{series:count} x {vmp_v:V} x {factor:factor4} x {reserve:factor}", "hot_voltage"),
    _limit("wake-voltage", "a string in full heat still wakes the tracker", "V", "at least", "definition",
           "nameplate data", "more panels in series", "{series:count} x {voc_v:V} x {factor:factor4}"),
    _limit("tracker-range", "a string at 25 degC works below the tracker's highest working volts", "V", "at most",
           "definition", "nameplate data", "fewer panels in series", "{series:count} x {vmp_v:V}"),
    _limit("tracker-current", "the strings' short-circuit current is within what the tracker survives", "A",
           "at most", "safety", "NEC 690.8(A)(1), IEC 62548", "fewer strings in parallel, or another panel",
           "{parallel:count} x {isc_a:A} x {reserve:factor}", "current"),
    _limit("tracker-strings", "the tracker has a place for each string", "strings", "at most", "definition",
           "nameplate data", "fewer strings in parallel", "{parallel:count} in parallel"),
    _limit("tracker-power", "the panels on a tracker are no more than it takes", "W", "at most", "definition",
           "nameplate data", "fewer panels on the tracker", "{series:count} x {parallel:count} x {pmax_w:W}"),
    _limit("fuse-fits", "fused strings: a standard fuse carries the string and protects its panels", "A", "at most",
           "safety", "NEC 690.8, 690.9, 240.6(A)", "fewer strings in parallel, or another panel",
           "1.25 x 1.25 x {isc_a:A}, next standard rating"),
    # the bank
    _limit("bank-voltage", "whole batteries in series make the converter's bank voltage", "", "holds",
           "definition", "nameplate data", "a battery of another class",
           "{bank_class_v:V} / {class_v:V} in series"),
    _limit("bank-series", "no more batteries stand in series than may", "batteries", "at most", "definition",
           "nameplate data", "a battery of a higher voltage class", "{series:count} in series"),
    _limit("bank-parallel", "no more bank strings stand in parallel than may", "strings", "at most", "definition",
           "nameplate data", "a larger battery", "{parallel:count} in parallel"),
    _limit("bank-window", "the bank's voltage stays in the converter's window, charging included", "V", "at most",
           "safety", "nameplate data", "a battery that fits the converter's window",
           "{series:count} x {charge_v:V}; nominal {bank_v:V} of at least {bank_min_v:V}"),
    _limit("bank-temperature", "where the bank stands it is warm enough to charge and to discharge", "degC",
           "at least", "safety", "nameplate data", "house the bank and state its coldest, or another battery",
           "the bank's coldest"),
    _limit("discharge-current", "each battery gives its share of the running current", "A", "at most",
           "safety reserve", f"nameplate data; its reserve: {CP}",
           "more batteries in parallel, or one that gives more current",
           "{watts:W} x {reserve:factor} / ({efficiency:factor} x {lowest_v:V})", "running"),
    _limit("starting-current", "each battery gives its share of each start as long as it lasts", "A", "at most",
           "safety reserve", f"nameplate data; its reserve: {CP}",
           "more batteries in parallel, or one with a larger peak current",
           "{watts:W} x {reserve:factor} / ({efficiency:factor} x {lowest_v:V}) for {seconds:s}", "starting"),
    _limit("bank-sag", "the bank's voltage does not sag below its lowest during a start", "V", "at least",
           "safety reserve", "Ohm's law", "more batteries in parallel, or one of less resistance",
           "{bank_v:V} - {current_a:A} x {series:count} x {r_mohm:mohm} / {parallel:count}", "starting"),
    _limit("charge-limit", "a charger that cannot be set gives no more than the bank takes", "A", "at most",
           "safety", "nameplate data", "more batteries in parallel, or a charger that can be set",
           "{units:count} x {charge_a:A}"),
    _limit("charge-rate", "the bank can take the night's energy back in a day", "Wh", "at most", "definition",
           "energy balance", "more batteries in parallel",
           "{night_wh:Wh} / {round_trip:factor} into the bank"),
    _limit("charge-floor", "charger and array give a lead-acid bank enough current to mix it", "A", "at least",
           "definition", f"{CP}; IEEE 1562, from memory", "a stronger charger, more panels, or a smaller bank",
           "the less of {charger_a:A} from the chargers and {array_a:A} from the array"),
    _limit("night-energy", "the bank carries the night without being cycled too deep", "Wh", "at most",
           "definition", f"{CP}; IEEE 1013, from memory", "more batteries, or more of the load in daytime",
           "{night_wh:Wh} in a night, idle draw included"),
    # energy, site, money
    _limit("daily-energy", "the array makes the day's energy as often over as asked, in every month", "W",
           "at least", "definition wish", "IEEE 1562, from memory", "more panels, or less load in that month",
           "{array_to_load:factor} x {day_wh:Wh} / {sun_hours:h}"),
    _limit("autonomy", "the bank carries the critical loads through the sunless days asked", "d", "at least",
           "wish", "IEEE 1013, from memory", "more batteries, or fewer sunless days",
           "{bank_wh:Wh} / {day_wh:Wh} a day{pumps}"),
    _limit("recovery", "after sunless days the array fills the bank again in the days asked, in every month", "d",
           "at most", "wish", "energy balance; the job", "more panels, a smaller bank, or more days to recover",
           "{bank_wh:Wh} / {round_trip:factor} over {usable_w:W} x {sun_hours:h} less {day_wh:Wh}"),
    _limit("well-yield", "the pumps take no more in a day than the well gives", "L", "at most", "definition",
           "the driller's pumping test", "less water a day, or another well", "{well_yield_l_per_h:L} an hour x 24"),
    _limit("water-reserve", "the tanks hold the days of water asked, in every month", "d", "at least", "wish",
           "the job", "more or larger tanks, or fewer days", "{stored_l:L} / {water_l:L} a day"),
    _limit("mounting-fit", "the racks take the panels' size and weight", "mm", "at most", "safety",
           "nameplate data", "another rack or panel",
           "{width_mm:mm} x {length_mm:mm}, {weight_kg:kg}; rack {rack_width_mm:mm} x {rack_length_mm:mm}, "
           "{rack_kg:kg}"),
    _limit("allowed", "mount, chemistry and sellers are among those the job allows, and no part is excluded", "",
           "holds", "wish", "the job", "allow it, or another part", "{refused}"),
    _limit("space", "panels and tanks have room", "panels", "at most", "wish",
           "the job", "more room, or fewer and stronger panels", "{panels:count} panels, {area_m2:m2}"),
    _limit("stock", "no seller is asked for more than is in stock", "pieces", "at most", "wish",
           "the price list", "another seller, or wait for stock", "{part} from {seller}"),
    _limit("priced", "everything the bundle needs has a price or is on hand, and each seller gets what it asks",
           "pieces", "at most", "definition", "the price list", "a price for the part", "{missing}"),
    _limit("listed", "the parts are listed by a test body, where the job asks for it", "", "holds", "wish",
           "the job", "a listed part", "{unlisted}"),
    _limit("budget", "the total is within the budget", "money", "at most", "wish", "the job",
           "a larger budget", "goods {goods:money} and freight {freight:money}{tax:tax}"),
)  # fmt: skip

LIMITS: Mapping[str, Limit] = {limit.name: limit for limit in _ALL}

# Limits that can be loosened by a figure in their unit. The others are loosened by a key of the job, or not by figures.
LOOSENED = frozenset({
    "running-power", "running-apparent", "starting-surge", "leg-balance", "charger", "array-total", "cold-voltage",
    "panel-voltage", "code-voltage", "hot-voltage", "wake-voltage", "tracker-current", "tracker-strings", "fuse-fits",
    "bank-series", "bank-parallel", "bank-window", "bank-temperature", "discharge-current", "starting-current",
    "bank-sag", "charge-limit", "charge-rate", "charge-floor", "night-energy", "daily-energy", "autonomy", "recovery",
    "water-reserve", "stock",
})  # fmt: skip

# Which choice a limit narrows: the converters, the banks behind one, the strings and their number on one.
OF_CONVERTERS = frozenset({"supply-match", "running-power", "running-apparent", "starting-surge", "leg-balance"})
OF_STARTS = frozenset({"starting-surge", "starting-current", "bank-sag", "leg-balance"})
OF_STRINGS = frozenset({
    "cold-voltage", "panel-voltage", "code-voltage", "hot-voltage", "wake-voltage", "tracker-current",
    "tracker-strings", "fuse-fits", "array-total", "space",
})  # fmt: skip
OF_BANKS = frozenset({
    "bank-series", "bank-parallel", "bank-window", "bank-temperature", "charger", "discharge-current",
    "starting-current", "bank-sag", "charge-limit", "charge-rate", "charge-floor", "night-energy", "autonomy",
    "daily-energy", "recovery",
})  # fmt: skip

# Left out, these would leave the choice without bounds or a bundle without meaning; they are never left out.
NEVER_LEFT_OUT = frozenset({"service", "tracker-count", "tracker-range", "tracker-power", "bank-voltage", "priced"})
