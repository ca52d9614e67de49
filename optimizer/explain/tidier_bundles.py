"""What a tidier bundle would cost: strings of one length, one seller, fewer sellers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil

from optimizer.bundles.bundle import Bundle
from optimizer.candidates.terms import SearchTerms
from optimizer.explain.resolve import Resolver, cents_of

WORTH_SHOWING = 0.05  # of the total: dearer tidiness is left out


@dataclass(frozen=True)
class Tidier:
    """The cheapest bundle with equal strings, or from at most ``sellers``; None where it costs 5 % or more."""

    equal_strings: bool
    sellers: int | None
    bundle: Bundle | None


def has_equal_strings(bundle: Bundle) -> bool:
    """Whether all strings are as long as each other."""
    return len({strings.series for strings in bundle.strings}) <= 1


def sellers_of(bundle: Bundle) -> int:
    """How many sellers a bundle is bought from."""
    return len(bundle.order.freight) if bundle.order is not None else 0


def tidier(resolver: Resolver, picked: Bundle) -> Iterator[Tidier]:
    """Every way in which the pick could be tidier, with the cheapest bundle that is."""
    ceiling = ceil(cents_of(picked) * (1 + WORTH_SHOWING)) - 1  # below 5 %, not at it

    def found(terms: SearchTerms) -> Bundle | None:
        return resolver.first(replace(resolver.base, terms=terms), ceiling).bundle

    terms = resolver.base.terms
    if not has_equal_strings(picked) and not terms.equal_strings:
        resolver.step("equal strings")
        yield Tidier(True, None, found(replace(terms, equal_strings=True)))
    for sellers in range(sellers_of(picked) - 1, 0, -1):
        resolver.step(f"{sellers} sellers" if sellers > 1 else "one seller")
        yield Tidier(False, sellers, found(replace(terms, most_sellers=sellers)))


def fewest(resolver: Resolver) -> SearchTerms:
    """The terms with the fewest sellers from whom a bundle can be bought; as they are where there is none at all."""
    terms = resolver.base.terms
    for sellers in range(1, len(set(map(str, resolver.base.catalog.offers.seller))) + 1):
        resolver.step(f"whether {sellers} sellers will do" if sellers > 1 else "whether one seller will do")
        tried = replace(terms, most_sellers=sellers)
        if resolver.any(replace(resolver.base, terms=tried)).bundle is not None:
            return tried
    return terms
