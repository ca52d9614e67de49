"""What an answer says in sentences: how far it is proven, what was measured, estimated and taken, and the cautions."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.vocabulary.defaults import default
from optimizer.vocabulary.months import SHORT_MONTHS
from optimizer.vocabulary.units import to_unit
from optimizer.writing.words.figures import figure, money, number, share
from optimizer.writing.words.tables import ends, paragraph

if TYPE_CHECKING:
    from catalog.reader import Catalog
    from optimizer.answers.answer import Answer, Option
    from optimizer.inputs.job import Job
    from optimizer.rules.load_figures import LoadFigures

LEAST_SHOWN = 0.005  # of a share: two that differ by less are shown as one
EXAMPLE = "EXAMPLE PARTS, INVENTED PRICES"
SHIPPED = "the catalogue that comes with this tool"
NOT_INCLUDED = (
    "cable runs, breakers, switches and earthing beyond the extras counted by rule; trenching, labour, permits, {tax}; "
    "the loads themselves. Extras are quantities, not a wiring design."
)
NO_TAX, OTHER_TAX = "tax", "tax but the sellers' own"
CAUTIONS = (
    "A plan, no permission: local code and its inspector decide. Get the permits, and have a licensed electrician "
    "check it and do the work.",
    "Panels in light make dangerous DC that no switch ends at the panel; take both sides of an open switch for live. "
    "Never part a connector, or open a switch not rated for it, under load: the arc does not go out by itself.",
    "Clamping start amps means an open, live box: a qualified person in protective gear, a rated meter round one "
    "conductor, one hand; a start capacitor may hold its charge. Reading the nameplate is better.",
    "Before touching pump wiring: off, locked out, proved dead. Bond motor, casing and box to earth; water and metal "
    "pipe make a shock worse.",
    "A bank drives a huge current into a short: no jewellery, a class-T fuse or its equal at the bank. Lead-acid gives "
    "off hydrogen and acid; lfp needs a listed management system and no charging below freezing. Codes rule on work at "
    "batteries and on where they stand.",
    "Not judged here: earthing and bonding, ground-fault and arc-fault protection, rapid shutdown on buildings.",
    "Any other source only through a listed transfer switch or interlock: back-feed can kill line workers. Never a "
    "cord into an outlet. A generator runs outdoors: its fumes kill.",
    "Fuses and currents are code minimums from typed data; a wrong figure can start a fire. Check all of it against "
    "the data sheets.",
    "Keep stored water or a hand pump for outages; do not rely on this for fire-fighting or life support.",
)
BEGIN = """\
borewatt finds the cheapest proven set of panels, converter and battery bank for
loads that start hard, such as a well pump.

Somebody made you an offer?   Write it down beside your job, and see what fails:
    borewatt audit JOB.toml OFFER.toml
You install for others?       Keep your parts and prices as CSV files:
    borewatt catalog check parts; borewatt pick JOB.toml --catalog parts
You build it yourself?        Begin with a job file that says what to find out:
    borewatt new my-well; borewatt pick my-well/job.toml
Every command: borewatt --help. The parts and prices it comes with are invented."""


# units as the person wrote them ----------------------------------------------------------------------------------


def not_included(option: Option | None) -> str:
    """What a total leaves out."""
    taxed = option is not None and option.bundle.order is not None and option.bundle.order.tax
    return NOT_INCLUDED.format(tax=OTHER_TAX if taxed else NO_TAX)


def written_unit(job: Job, key: str, base: str) -> str:
    """The unit in which the person wrote a key of the job, such as "degF"; ``base`` where it is not stated."""
    return job.unit_of(key) or base


def temperature(job: Job, key: str, celsius: float) -> str:
    """A temperature in the unit the person wrote ``key`` in."""
    unit = written_unit(job, key, written_unit(job, "site.coldest", "degC"))
    return f"{plain(round(to_unit(celsius, unit), 1))} {unit}"


def plain(value: float) -> str:
    """A number without needless zeros."""
    return number(value, 3).rstrip("0").rstrip(".")


# the head of an answer -------------------------------------------------------------------------------------------


def catalogue_name(catalog: Catalog) -> str:
    """The catalogue as the person named it, or that it is the shipped one."""
    from catalog.reader import shipped_catalog

    shipped = catalog.generic and Path(catalog.folder).resolve() == shipped_catalog().resolve()
    return SHIPPED if shipped else f"catalogue {catalog.folder}"


def source_line(catalog: Catalog) -> str:
    """Which catalogue, and that its parts are invented where they are."""
    name = catalogue_name(catalog)
    return ends(name[0].upper() + name[1:], EXAMPLE) if catalog.generic else name


def head_lines(job: Job, catalog: Catalog) -> str:
    """The job's title, and under it which catalogue, as a heading of its own."""
    source = source_line(catalog)
    return f"{paragraph(job.title, indent=0)}\n{source[0].upper()}{source[1:]}"


def price_dates(catalog: Catalog) -> tuple[str, ...]:
    """The first and the last day of the price list, as ISO dates."""
    days = sorted(set(map(str, catalog.offers.as_of)))
    return (days[0], days[-1]) if days else ()


def price_span(catalog: Catalog) -> str:
    """The days of the price list in words: "1 Oct to 2 Nov 2026"."""
    days = price_dates(catalog)
    if not days:
        return "no prices"
    first, last = (date.fromisoformat(day) for day in days)
    end = f"{last.day} {SHORT_MONTHS[last.month - 1]} {last.year}"
    if first == last:
        return f"prices of {end}"
    year = f" {first.year}" if first.year != last.year else ""
    return f"prices {first.day} {SHORT_MONTHS[first.month - 1]}{year} to {end}"


def proof_state(answer: Answer) -> list[str]:
    """How far the answer is proven, in sentences."""
    pick, currency = answer.pick, answer.catalog.currency
    proof = pick.proof
    tried = f"{proof.combinations:,} combinations" if proof.combinations != 1 else "the only combination"
    bound = None if proof.next_bound is None else money(proof.next_bound, currency)
    if pick.status == "none":
        if proof.combinations == 1:
            return ["The only combination does not meet every limit."]
        return [f"No bundle among {tried} meets every limit." if proof.combinations else "Nothing is left to combine."]
    if not answer.options:
        least = f" Any bundle there is costs {bound} or more." if bound else ""
        return [f"Stopped by the time limit before any bundle was found, among {tried}.{least}"]
    best = answer.options[0]
    total = f"{money(best.cents, currency)} delivered ({price_span(answer.catalog)})"
    shown = len(answer.options)
    if pick.status == "proven":
        rest = (
            f"Any other set of parts costs {bound} or more." if bound
            else "No other set of parts meets every limit."
        )  # fmt: skip
        covered = f"{tried[0].upper()}{tried[1:]} {'is' if proof.combinations == 1 else 'are'} covered by the proof."
        return [f"Proven cheapest, to the cent: {total}.", f"{covered} {rest}"]
    proven = sum(option.proven for option in answer.options)
    if not best.proven:
        return [
            f"Stopped by the time limit, not proven. Best found: {total}.",
            f"Nothing can cost less than {bound}: the gap is {share(proof.gap)}. More time may find better.",
        ]
    which = "Option 1 is" if proven == 1 else f"Options 1 to {proven} are"
    rest = "" if proven == shown else f" {which} proven; what follows may not be the next cheapest."
    return [f"Proven cheapest, to the cent: {total}.", f"Stopped by the time limit.{rest}"]


# what the answer rests on ----------------------------------------------------------------------------------------


def _key(load: LoadFigures, name: str) -> str:
    return f"load.{load.name}.{name}"


def measured(answer: Answer) -> list[str]:
    """What the job states about each load, in its own units."""
    written, said = answer.job.written, []
    for load in answer.demand.loads:
        times = f" (each of {load.count})" if load.count > 1 else ""
        words = [f"{load.name}{times} runs {written.get(_key(load, 'running'), figure(load.running_va, 'VA'))}"]
        if load.start_source == "stated" and load.starts:
            words.append(f"starts {written.get(_key(load, 'starting'), figure(load.start_va, 'VA'))}")
        elif load.start_source == "code letter":
            letter, rated = (written.get(_key(load, key), "") for key in ("locked_rotor_code", "rated"))
            words.append(f"starts {figure(load.start_va, 'VA')} by code letter {letter} and {rated}".rstrip())
        elif load.start_source == "none":
            words.append("no surge")
        water, flow = (written.get(_key(load, key)) for key in ("water_per_day", "flow"))
        if water and flow:
            monthly = water.startswith("[")
            words.append(f"{'water by the month' if monthly else f'{water} of water a day'} at {flow}")
        said.append(", ".join(words))
    return said


def estimated(answer: Answer) -> list[str]:
    """What stands on an estimate."""
    return [
        f"start of {load.name}: {figure(load.start_va, 'VA')}, {_estimate_of(load)} for "
        f"{answer.job.written.get(_key(load, 'rated'), 'its rated power')}; measure it"
        for load in answer.demand.loads
        if load.start_source == "estimate"
    ]


def _estimate_of(load: LoadFigures) -> str:
    """What an estimate of a start goes by."""
    return "a table's locked-rotor kVA" if load.phases == 3 else "six times a table's full-load amps"


def taken_for_job(answer: Answer) -> list[str]:
    """The figures that were taken because the job does not state them."""
    job = answer.job
    site = {
        "site.array_ceiling": f"array_ceiling {plain(job.site.array_ceiling_v)} V",
        "site.array_factor": f"array_factor {job.site.array_factor:g}",
        "site.bank_coldest": f"bank_coldest {temperature(job, 'site.coldest', job.site.bank_coldest_c)}, as the site",
        "site.bank_hottest": f"bank_hottest {temperature(job, 'site.hottest', job.site.bank_hottest_c)}, as the site",
        "supply.hz": f"{job.supply.hz} Hz",
        "need.autonomy_days": f"autonomy_days {job.need.autonomy_days:g}",
    }
    said = [words for key, words in site.items() if key not in job.stated]
    if job.weather is not None:
        from optimizer.writing.words.weather import taken_from_file

        said += taken_from_file(job, partial(temperature, job))
    reserves = {field.name: getattr(job.reserve, field.name) for field in fields(job.reserve)}
    unstated = [f"{name} {value:g}" for name, value in reserves.items() if f"reserve.{name}" not in job.stated]
    if unstated:
        said.append(f"reserves {', '.join(unstated)}")
    for load in answer.demand.loads:
        if load.start_source == "not stated":
            said.append(f"start of {load.name} not stated, none counted")
        sunnier = any(_sunnier(load, option) for option in answer.options)
        if words := list(_taken_for_load(job, load, sunnier)):
            said.append(f"{load.name}: {', '.join(words)}")
    return said


def _sunnier(load: LoadFigures, option: Option) -> bool:
    """Whether a bundle's tanks let a load wait for the sun, so that more of it is counted there than without them."""
    return any(max(each.daytime) > max(load.daytime) for each in option.audit.loads if each.name == load.name)


def _in_sun(load: LoadFigures) -> str:
    """The share of a load's energy that is counted in the sun: less in months whose sun does not last as long."""
    most, least = max(load.daytime), min(load.daytime)
    month = SHORT_MONTHS[load.daytime.index(least)]
    return f"daytime {most:g}" if most - least < LEAST_SHOWN else f"daytime {most:.2g}, down to {least:.2f} in {month}"


def _taken_for_load(job: Job, load: LoadFigures, sunnier: bool) -> Iterator[str]:
    """``sunnier``: what is counted in the sun is said with the bundle, since its tanks change it."""
    if load.power_factor_assumed:
        yield f"power factor {load.power_factor:g}"
    if load.starts:
        if _key(load, "start_time") not in job.stated:
            yield f"a start of {figure(load.start_s, 's')}"
        if _key(load, "starting_power_factor") not in job.stated:
            yield f"starting power factor {default('load.starting_power_factor'):g}"
    if _key(load, "daytime") not in job.stated and not sunnier:
        yield _in_sun(load)


def taken_for_option(answer: Answer, option: Option) -> list[str]:
    """The figures that were taken because the catalogue or the job does not state them, for one bundle's parts."""
    job, bundle = answer.job, option.bundle
    records: list[Mapping[str, object]] = list(bundle.rows.values())
    said = []
    stored = {each.name: each for each in option.audit.loads}
    for load in answer.demand.loads:
        if any(_sunnier(load, each) for each in answer.options):
            tanks = ", with its tanks' water" if _sunnier(load, option) else ""
            if tanks or _key(load, "daytime") not in job.stated:
                said.append(f"{load.name}: {_in_sun(stored.get(load.name, load))}{tanks}")
    if "need.array_to_load" not in job.stated:
        ratio = option.audit.reading("daily-energy").slots["array_to_load"]
        said.append(f"array_to_load {ratio:g} ({bundle.battery['chemistry']})")
    if "site.rear_light" not in job.stated and bundle.panel["bifacial_pct"] > 0:
        said.append(f"rear_light {job.site.rear_light:g}")
    for record in records:
        part = str(record["part"])
        columns = [column for owner, column in bundle.defaults_taken if owner == part and column in record]
        words = [f"{column} {cell(record[column])}" for column in columns]
        if "voc_pct_per_c" in record and record["voc_pct_per_c"] != record["voc_pct_per_c"]:
            cold = option.audit.reading("cold-voltage").slots["factor"]
            words.append(f"voc_pct_per_c not stated, so the cold factor is a code table's: {cold:.2f}")
        if "r_mohm" in record and record["r_mohm"] != record["r_mohm"]:
            words.append("r_mohm not stated, so bank-sag is not judged")
        if words:
            said.append(f"{part}: {', '.join(words)}")
    return said


def cell(value: object) -> str:
    """A value of the catalogue as a person writes it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return "no limit" if value == float("inf") else plain(value)
    return str(value)


def water(job: Job, litres: float) -> str:
    """Water in the unit in which the person wrote that of the first load that pumps any."""
    load = next((load for load in job.loads if load.water_per_day_l is not None), None)
    unit = (job.unit_of(f"load.{load.name}.water_per_day") if load is not None else "") or "L"
    return f"{number(to_unit(litres, unit), 0)} {unit}"


def asked_beside(answer: Answer) -> list[str]:
    """What was asked beyond the job."""
    terms, said = answer.terms, []
    for part, count in terms.must.values():
        said.append(f"asked for: {part}" if count is None else f"asked for: {count} {part}")
    said += [f"barred: {part}" for part in sorted(terms.never)]
    if terms.equal_strings:
        said.append("asked for: strings of one length")
    if terms.most_sellers is not None:
        sellers = "one seller" if terms.most_sellers == 1 else f"at most {terms.most_sellers} sellers"
        said.append(f"asked for: {sellers}")
    return said


def conditions_of_job(answer: Answer) -> list[str]:
    """What must be so for the plan to hold, whatever the bundle."""
    starting = [load for load in answer.demand.loads if load.starts]
    if sum(load.count for load in starting) < 2 or answer.job.supply.restart != "staggered":
        return []
    return [
        "loads restart one after another: fit a restart delay on every motor but one. Two may still start in one "
        "second by chance: an interlock, or a converter that trips and starts again"
    ]


def _conditions_of_water(answer: Answer, option: Option) -> Iterator[str]:
    """How the pumps must be run for the tanks to be worth what is counted for them."""
    job, days = answer.job, option.audit.water_days
    pumps = [load for load in job.loads if load.water_per_day_l is not None]
    names = ", ".join(load.name for load in pumps)
    if days is None:
        return
    stated = {load.name: load.daytime for load in pumps}
    if any(max(load.daytime) > stated.get(load.name, 1.0) for load in option.audit.loads):
        yield f"{names}: a timer or float switch lets it run in the sun while the tanks have water"
    if option.audit.reading("autonomy").slots["pumps"]:
        yield f"{names}: it rests through sunless days, and the tanks are drawn on instead"


def conditions_of_option(answer: Answer, option: Option) -> list[str]:
    """What must be so for one bundle."""
    said, bundle = [], option.bundle
    for fuse_a in sorted({t.fuse_a for t in option.trackers if t.fuse_a is not None}):
        which = ", ".join(str(t.tracker) for t in option.trackers if t.fuse_a == fuse_a)
        said.append(f"fuse each string of tracker {which} at {plain(fuse_a)} A")
    if bundle.units > 1:
        said.append(f"{bundle.units} {bundle.converter['part']} are joined and set up to work as one")
    said += _conditions_of_water(answer, option)
    setting = option.audit.charge_setting_a
    if setting is not None:
        said.append(f"charging current set to {setting_text(setting)} or less")
    return said


def setting_text(amps: float) -> str:
    """A charging current to set, rounded down to a tenth of an A."""
    return f"{plain(int(amps * 10 + 1e-6) / 10)} A"


def protection(option: Option) -> str:
    """The current that the bank's protection must carry."""
    said = [f"{figure(option.audit.protection_a, 'A')} for each converter"]
    if option.audit.start_a > 0:
        said.append(f"the hardest start draws {figure(option.audit.start_a, 'A')} through it")
    short_a = option.audit.short_circuit_a
    if short_a is None:
        said.append("its short-circuit current is not stated: ask the battery's maker before choosing a fuse")
    else:
        said.append(f"it must interrupt {figure(short_a, 'A')}, a short circuit of the bank")
    return "; ".join(said)
