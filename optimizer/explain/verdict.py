"""One offer judged: what it costs, what the auditor says, and what would cure a limit that fails."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from catalog.reader import Catalog
from optimizer.auditor.audit import audit
from optimizer.auditor.reading import Audit, Reading
from optimizer.bundles.bundle import Bundle
from optimizer.bundles.needs import pieces_needed
from optimizer.candidates.rows import allowed_rows
from optimizer.candidates.terms import Setting
from optimizer.costs.market import Market
from optimizer.inputs.job import Job
from optimizer.rules.limits import LIMITS
from optimizer.search.cheapest_order import out_of_reach, price_order

SERIES, PARALLEL, BANK = "series", "parallel", "bank"  # counts that move a limit: see Limit.cure
LONGEST = 100  # panels in series; no string is longer than the highest system voltage over the least panel's


@dataclass(frozen=True)
class Cure:
    """A count that meets a limit: ``reading`` is the limit then, ``breaks`` the limits that fail only then."""

    count: str
    number: int
    reading: Reading
    breaks: tuple[str, ...]


@dataclass(frozen=True)
class Verdict:
    """One bundle judged. ``cures`` by limit and where; ``unpriced``: parts that cannot be had, so that the price is not
    known; ``rack_units``: what the strings need by rule, None without a rack. ``left_out_cents``: where it names no
    rack, what racks and the extras that its rules count cost with it at the least, None where that cannot be told.
    """

    bundle: Bundle
    audit: Audit
    cures: Mapping[tuple[str, str], Cure]
    unpriced: tuple[str, ...]
    rack_units: int | None
    left_out_cents: int | None = None

    @property
    def complete_cents(self) -> int | None:
        """What it costs with what it leaves out at the least: what a whole bundle is held against."""
        if self.bundle.rack is not None or self.cents is None:
            return self.cents
        return None if self.left_out_cents is None else self.cents + self.left_out_cents

    @property
    def cents(self) -> int | None:
        """What it costs: the order's total, else the price asked; None where neither is known."""
        return self.bundle.order.cents if self.bundle.order is not None else self.bundle.quoted_cents

    @property
    def failing(self) -> tuple[Reading, ...]:
        """Every reading that fails, in the auditor's order."""
        return tuple(reading for reading in self.audit.readings if not reading.holds)


def judge(job: Job, bundle: Bundle, catalog: Catalog, solver: str = "highs") -> Verdict:
    """Price a bundle where the catalogue can and no price is stated, audit it, and look for cures."""
    unpriced: tuple[str, ...] = ()
    needs = pieces_needed(bundle, job, catalog)
    known = all(catalog.tables[kind].index_of(part) is not None for kind, part in bundle.models.items())
    if known and bundle.order is None and bundle.quoted_cents is None:
        market = Market.of(catalog, Setting.of(job))
        unpriced = out_of_reach(needs, market, solver)
        if not unpriced:
            bundle = replace(bundle, order=price_order(needs, market, solver))
    judged = audit(job, bundle, catalog)
    found = {(r.limit, r.where): cure(job, bundle, r) for r in judged.readings if not r.holds}
    cures = {place: answer for place, answer in found.items() if answer is not None}
    units = needs[str(bundle.rack["part"])] if bundle.rack is not None else None
    return Verdict(bundle, judged, cures, unpriced, units, _left_out(job, bundle, catalog, solver))


def _left_out(job: Job, bundle: Bundle, catalog: Catalog, solver: str) -> int | None:
    """Cents that the cheapest racks which take its panels, and the extras, cost beside a bundle that names no rack. To
    an order they are added, so that no freight is paid twice; beside a price for the whole they are bought alone."""
    if bundle.rack is not None or (bundle.order is None and bundle.quoted_cents is None):
        return None
    setting = Setting.of(job)
    market = Market.of(catalog, setting)
    there = pieces_needed(bundle, job, catalog)
    totals = []
    for row in allowed_rows(catalog.racks, setting).index:
        whole = replace(bundle, rack=catalog.racks.record(int(row)), order=None)
        fits = (reading.holds for reading in audit(job, whole).readings if reading.limit == "mounting-fit")
        if not all(fits):
            continue
        needs = pieces_needed(whole, job, catalog)
        if bundle.order is None:
            needs = {part: pieces for part, pieces in needs.items() if part not in there}
        order = price_order(needs, market, solver)
        if order is not None:
            totals.append(order.cents)
    if not totals:
        return None
    return max(0, min(totals) - (bundle.order.cents if bundle.order is not None else 0))


def cure(job: Job, bundle: Bundle, failing: Reading) -> Cure | None:
    """The count nearest to the bundle's own that meets a failing limit, tried out on the auditor; None where no count
    does, or none would."""
    moved = LIMITS[failing.limit].cure
    if moved is None:
        return None
    count, step = moved
    bare = replace(bundle, order=None, quoted_cents=None)  # what it costs is another matter
    now = _count(bare, count, failing.where)

    def tried(number: int) -> Audit:
        return audit(job, _with_count(bare, count, failing.where, number))

    def met(number: int) -> Reading | None:
        mine = [r for r in tried(number).readings if r.limit == failing.limit]
        if count != BANK:
            mine = [r for r in mine if r.where == failing.where]
        return mine[0] if mine and all(r.holds for r in mine) else None

    far = 1 if step < 0 else int(bundle.battery["max_parallel"]) if count == BANK else LONGEST
    if (far - now) * step <= 0 or met(far) is None:
        return None
    near = now
    while abs(far - near) > 1:  # near fails, far holds
        middle = (near + far) // 2
        near, far = (near, middle) if met(middle) else (middle, far)
    reading = met(far)
    if reading is None:
        return None
    before = {r.limit for r in audit(job, bare).readings if not r.holds}
    after = dict.fromkeys(r.limit for r in tried(far).readings if not r.holds)
    return Cure(count, far, reading, tuple(limit for limit in after if limit not in before))


def _count(bundle: Bundle, count: str, where: str) -> int:
    if count == BANK:
        return bundle.bank_parallel
    tracker = next(s for s in bundle.strings if f"tracker {s.tracker}" == where)
    return tracker.series if count == SERIES else tracker.parallel


def _with_count(bundle: Bundle, count: str, where: str, number: int) -> Bundle:
    if count == BANK:
        return replace(bundle, bank_parallel=number)
    changed = []
    for s in bundle.strings:
        if f"tracker {s.tracker}" == where:
            s = replace(s, series=number) if count == SERIES else replace(s, parallel=number)
        changed.append(s)
    return replace(bundle, strings=tuple(changed))
