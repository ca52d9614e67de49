"""A search's findings, audited, with the figures that answers show beside the limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from catalog.reader import Catalog
from optimizer.auditor.audit import audit
from optimizer.auditor.reading import Audit, Reading
from optimizer.bundles.bundle import Bundle
from optimizer.candidates.terms import PLAIN, SearchTerms
from optimizer.explain.explanation import Why
from optimizer.inputs.job import Job
from optimizer.rules import demand as demand_rules
from optimizer.rules import strings
from optimizer.rules.limits import LIMITS
from optimizer.search.branch_and_bound import Pick, Proof, Status
from optimizer.vocabulary.faults import RefusedError

NO_SEARCH = Proof(0, 0, 0, None, 0.0)  # of bundles that come from elsewhere


@dataclass(frozen=True)
class TrackerFigures:
    """One tracker: its strings, V at dawn on the coldest morning and in full heat, usable W, and the fuse in A."""

    tracker: int
    series: int
    parallel: int
    fuse_a: float | None
    cold_v: float
    hot_v: float
    usable_w: float


@dataclass(frozen=True)
class Option:
    """One bundle with its audit; of a pick, one that passed. ``cell_c``: cell temperature in full heat, in degC."""

    rank: int
    bundle: Bundle
    audit: Audit
    proven: bool
    trackers: tuple[TrackerFigures, ...]
    cell_c: float

    @property
    def cents(self) -> int:
        """The delivered total."""
        return self.bundle.order.cents if self.bundle.order is not None else 0

    def nearest(self) -> tuple[Reading, ...]:
        """One reading a limit, the nearest edge first; fixed limits that guard against no damage, and those without a
        figure, come last."""

        def far(reading: Reading) -> bool:
            limit = LIMITS[reading.limit]
            return limit.fixed and "safety" not in limit.kinds

        return tuple(sorted(self.audit.tightest(), key=lambda r: (r.settled, far(r), r.room)))


@dataclass(frozen=True)
class Answer:
    """Everything that an answer tells. ``why`` as far as it was asked for; ``terms``: what was asked beyond the job."""

    job: Job
    catalog: Catalog
    demand: demand_rules.Demand
    pick: Pick
    options: tuple[Option, ...]
    why: Why = Why()
    terms: SearchTerms = PLAIN

    @property
    def proven(self) -> bool:
        """Whether the search came to its end and found a bundle."""
        return self.pick.status == Status.PROVEN

    @property
    def impossible(self) -> bool:
        """Whether it is proven that no bundle meets the job."""
        return self.pick.status == Status.NONE

    @classmethod
    def of_bundles(
        cls, job: Job, catalog: Catalog, bundles: Sequence[Bundle], terms: SearchTerms = PLAIN, proof: Proof = NO_SEARCH
    ) -> Answer:
        """Bundles that another question proved, audited. Raises :class:`RefusedError` as :func:`audited` does."""
        return audited(catalog, job, Pick(Status.PROVEN, tuple(bundles), (True,) * len(bundles), proof), terms=terms)

    @classmethod
    def of_audits(cls, job: Job, catalog: Catalog, audits: Sequence[Audit]) -> Answer:
        """Bundles that somebody names, with their audits, whether they pass or not; nothing was searched for."""
        options = tuple(_option(rank, job, each.bundle, each, False) for rank, each in enumerate(audits, start=1))
        return cls(job, catalog, demand_rules.demand(job), Pick(Status.STOPPED, (), (), NO_SEARCH), options)


def audited(catalog: Catalog, job: Job, pick: Pick, why: Why | None = None, terms: SearchTerms = PLAIN) -> Answer:
    """Audit every bundle of ``pick``. Raises :class:`RefusedError` where one fails, or has a limit nobody judged."""
    options = []
    for rank, (bundle, proven) in enumerate(zip(pick.bundles, pick.proven, strict=True), start=1):
        judged = audit(job, bundle, catalog)
        wrong = tuple(dict.fromkeys(r.limit for r in judged.readings if not r.holds)) + judged.not_judged
        if wrong or not judged.passes:
            raise RefusedError(f"option {rank} of its own search", wrong)
        options.append(_option(rank, job, bundle, judged, proven))
    return Answer(job, catalog, demand_rules.demand(job), pick, tuple(options), why or Why(), terms)


def _option(rank: int, job: Job, bundle: Bundle, judged: Audit, proven: bool) -> Option:
    """A bundle with its audit, and the figures of its trackers."""
    panel = bundle.panel
    isc_a = float(strings.short_circuit_current(panel["isc_a"], panel["bifacial_pct"], job.site.rear_light))
    volts = {(r.limit, r.where): r.raw_value for r in judged.readings}
    trackers = []
    for s, usable_w in zip(bundle.strings, judged.tracker_w, strict=True):
        where = f"tracker {s.tracker}"
        hot_v = volts["hot-voltage", where]
        fuse_a = float(strings.fuse_rating(isc_a, job.supply.hz)) if s.fused else None
        trackers.append(
            TrackerFigures(s.tracker, s.series, s.parallel, fuse_a, volts["cold-voltage", where], hot_v, usable_w)
        )
    return Option(rank, bundle, judged, proven, tuple(trackers), judged.cell_c)
