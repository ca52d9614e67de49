"""The whole explanation of a pick: what each limit costs, and which prices and inputs would change it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from catalog.part_kinds import BESIDE, ONE_MODEL
from optimizer.bundles.bundle import Bundle
from optimizer.explain import why_not
from optimizer.explain.binding_limits import dearest_first, each_cost
from optimizer.explain.explanation import Collector, Why, beside
from optimizer.explain.irreducible_set import proof
from optimizer.explain.price_ranging import Entering, General, Leaving, bought, entering, general, leaving
from optimizer.explain.price_ranging import without as without_part
from optimizer.explain.resolve import Resolver
from optimizer.explain.sensitivity import look_at, uncertain
from optimizer.explain.tidier_bundles import tidier
from optimizer.explain.verdict import judge


def part_instead(resolver: Resolver, picked: Bundle, kind: str, part: str) -> Why:
    """Why a part is not in the pick."""
    rest = Collector(resolver)
    found = rest.gather(f"why not {part}", lambda: [why_not.of_part(resolver, picked, kind, part)])
    return Why(instead=found[0] if found else None, unfinished=tuple(rest.unfinished), solves=resolver.solves)


def bundle_instead(resolver: Resolver, other: Bundle) -> Why:
    """Why a bundle that somebody names is not the pick."""
    base = resolver.base
    return Why(
        instead=why_not.BundleInstead(judge(base.job, other, base.catalog, resolver.solver)), solves=resolver.solves
    )


def explain(resolver: Resolver, picked: Bundle, inputs: Sequence[str] = ()) -> Why:
    """The whole explanation of ``picked``, the proven cheapest bundle of ``resolver.base``. ``inputs``: dotted keys
    that are looked at beside those that are estimated or taken."""
    rest = Collector(resolver)
    case = resolver.base
    asked = dict.fromkeys(inputs, "asked")
    keys = {**dict(uncertain(case, picked)), **asked}
    found = replace(beside(rest, picked), whole=True)
    found = replace(
        found, inputs=rest.gather("inputs", lambda: (look_at(resolver, picked, k, keys[k]) for k in inputs))
    )
    found = replace(found, costs=dearest_first(rest.gather("costs of limits", lambda: each_cost(resolver, picked))))
    if "costs of limits" not in rest.unfinished:
        cores = rest.gather("smallest proof", lambda: [proof(resolver, picked, found.costs)])
        found = replace(found, core=cores[0] if cores else None)
    else:
        rest.unfinished.append("smallest proof")
    if case.job.replay.hours_short is not None:
        from optimizer.explain.hours_accepted import at_other_hours

        found = replace(found, hours=rest.gather("hours accepted", lambda: at_other_hours(resolver)))
    without_it: dict[str, Bundle | None] = {}

    def leave() -> Iterable[Leaving]:
        for purchase in sorted(bought(picked), key=lambda p: (_place(resolver, p.part), -p.cents)):
            without_it[purchase.part] = without_part(resolver, purchase.part)
            yield leaving(resolver, picked, purchase.part, without_it[purchase.part])

    def enter() -> Iterable[Entering]:
        for kind in ONE_MODEL:
            other = without_it.get(picked.models[kind]) if kind in picked.models else None
            if other is not None:
                yield entering(resolver, picked, kind, other.models[kind], other)
        for kind in BESIDE:  # of these a bundle without one part need not have another
            for part in (part for part in picked.rows if resolver.base.catalog.kind_of(part) == kind):
                other = without_it.get(part)
                there = [] if other is None else [row for row in other.rows if row not in picked.rows]
                for new in (row for row in there if resolver.base.catalog.kind_of(row) == kind):
                    assert other is not None
                    yield entering(resolver, picked, kind, new, other)

    found = replace(found, leaving=rest.gather("prices of parts", leave))
    found = replace(found, entering=rest.gather("prices of other parts", enter))
    found = replace(found, tidier=rest.gather("tidiness", lambda: tidier(resolver, picked)))
    others = [key for key in keys if key not in asked]
    more = rest.gather("worth measuring", lambda: (look_at(resolver, picked, key, keys[key]) for key in others))
    found = replace(found, inputs=(*found.inputs, *more))
    found = replace(found, general=rest.gather("general moves", lambda: _general(resolver, picked)))
    return replace(found, unfinished=tuple(rest.unfinished), solves=resolver.solves)


def _place(resolver: Resolver, part: str) -> int:
    """Parts that are chosen stand before extras."""
    kind = resolver.base.catalog.kind_of(part)
    return ONE_MODEL.index(kind) if kind in ONE_MODEL else len(ONE_MODEL)


def _general(resolver: Resolver, picked: Bundle) -> Iterable[General]:
    offers, tables = resolver.base.catalog.offers, resolver.base.catalog.tables
    assert picked.order is not None
    for seller, _ in picked.order.freight:
        yield general(resolver, picked, seller, np.flatnonzero(offers.seller == seller))
    for kind in ONE_MODEL:
        yield general(resolver, picked, kind, np.flatnonzero(np.isin(offers.part, tables[kind].part)))
