"""Random instances that a bundle meets, each seen from both sides: the explanation's and the brute force's."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property
from math import inf
from pathlib import Path
from typing import Any
from unittest import mock

from catalog.reader import Catalog, read_catalog
from optimizer.bundles.bundle import Bundle
from optimizer.explain.resolve import Resolver, Scenario, cents_of
from optimizer.inputs.job import Job
from optimizer.inputs.job_reader import read_job
from optimizer.search.branch_and_bound import pick
from tests.brute import force
from tests.brute.draw_job import toml
from tests.brute.force import nodes_of
from tests.brute.instances import write_instance
from tests.brute.parts import Battery, Converter, Panel, Parts, Rack, read_parts, with_prices
from tests.brute.reading import Job as BruteJob
from tests.brute.reading import job_of
from tests.brute.rules import series_count


def cents(total: Decimal) -> int:
    """A total of the brute force in cents."""
    whole = int(total * 100)
    assert whole == total * 100
    return whole


@dataclass
class Instance:
    """One instance. ``catalog``, ``job``, ``picked`` and ``resolver`` are the product's; ``parts`` and ``tables`` (of
    the job file) are the brute force's, and so is ``optimum``, the least total in cents.
    """

    seed: int
    catalog: Catalog
    job: Job
    picked: Bundle
    resolver: Resolver
    parts: Parts
    tables: Mapping[str, Any]
    optimum: int
    asked: BruteJob = field(init=False)
    _alone: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.asked = job_of(dict(self.tables))

    def retyped(self, *changes: tuple[str, Any]) -> BruteJob:
        """The job read from its file with dotted keys typed anew; None takes a key out."""
        tables = tomllib.loads(toml(dict(self.tables)))
        for dotted, value in changes:
            owner, _, key = dotted.rpartition(".")
            if owner.startswith("load."):
                table = next(load for load in tables["load"] if load["name"] == owner.removeprefix("load."))
            else:
                table = tables.setdefault(owner, {})
            table.pop(key, None)
            if value is not None:
                table[key] = value
        return job_of(tomllib.loads(toml(tables)))

    def least(self, *, parts: Parts | None = None, job: BruteJob | None = None, **terms: Any) -> float:
        """The brute force's least total in cents, with the terms of `nodes_of`; infinite where there is no bundle."""
        nodes = nodes_of(parts or self.parts, job or self.asked, **terms)
        return min((cents(best.total) for best in nodes.values()), default=inf)

    def below(self, *without: str, job: BruteJob | None = None, **terms: Any) -> float:
        """The least total without some limits, or in a changed job, where it is below the optimum; else infinite.

        One limit is left out in another way than the brute force's own. Without `bank-parallel` it would not end, and
        refuses; here a bank has as many strings as there is money for below the optimum.
        """
        asked = job or self.asked
        dropped = frozenset(without)
        panels = max(self._affordable[panel.part] for panel in self.parts.panels)
        if "space" in dropped:
            asked = replace(asked, max_panels=panels, max_area_m2=inf)
        asked = replace(asked, max_panels=min(asked.max_panels, panels))
        parts = replace(
            self.parts,
            converters=[self._no_more_units(row) for row in self.parts.converters],
            batteries=[self._no_more_strings(row, "bank-parallel" in dropped) for row in self.parts.batteries],
        )
        dropped -= {"space", "bank-parallel"}
        least = self.least(parts=parts, job=asked, without=dropped, **terms)
        return least if least < self.optimum else inf

    def alone(self, limits: Collection[str]) -> dict[str, float]:
        """`below` without each limit alone, worked out once."""
        self._alone |= {limit: self.below(limit) for limit in limits if limit not in self._alone}
        return {limit: self._alone[limit] for limit in limits}

    @cached_property
    def _affordable(self) -> dict[str, int]:
        """How many pieces of each part a bundle below the optimum may have: on hand, or bought for what its three other
        kinds of parts leave at the least."""
        kinds: list[list[Converter] | list[Panel] | list[Battery] | list[Rack]]
        kinds = [self.parts.converters, self.parts.panels, self.parts.batteries, self.parts.racks]
        prices: dict[str, int] = {}
        for offer in self.parts.offers:
            prices[offer.part] = min(offer.cents, prices.get(offer.part, offer.cents))
        on_hand = self.asked.on_hand

        def cheapest(rows: Iterable[Converter | Panel | Battery | Rack]) -> int:
            return min(0 if row.part in on_hand else prices.get(row.part, self.optimum) for row in rows)

        most = {}
        for rows in kinds:
            left = max(0, self.optimum - sum(cheapest(others) for others in kinds if others is not rows))
            for row in rows:
                most[row.part] = on_hand.get(row.part, 0) + (left // prices[row.part] if row.part in prices else 0)
        return most

    def _no_more_units(self, row: Converter) -> Converter:
        return replace(row, max_units=min(row.max_units, self._affordable[row.part]))

    def _no_more_strings(self, row: Battery, endless: bool) -> Battery:
        series = [series_count(converter, row) for converter in self.parts.converters]
        most = self._affordable[row.part] // min((count for count in series if count), default=1)
        return replace(row, max_parallel=most if endless else min(most, row.max_parallel))

    def priced(self, part: str, change: Callable[[int], int]) -> Parts:
        """The parts with every offer of one of them at ``change(cents)``."""
        return with_prices(self.parts, lambda name, _, now: change(now) if name == part else now)

    def least_with_extra(self, extra: str, parts: Parts) -> float:
        """The least total of the bundles that need an extra: `must` counts extras, only its guard knows none."""
        with mock.patch.object(force, "check_names"):
            return self.least(parts=parts, must={extra: None})


def instances(folder: Path, seeds: Iterable[int], *, landed: bool = False) -> Iterator[Instance]:
    """The instances of those seeds that a bundle meets; the product's pick costs what the brute force finds."""
    for seed in seeds:
        catalog_dir, job_path = write_instance(folder / str(seed), seed, landed=landed)
        tables = tomllib.loads(job_path.read_text(encoding="utf-8"))
        parts = read_parts(catalog_dir)
        totals = [cents(best.total) for best in nodes_of(parts, job_of(tables)).values()]
        if not totals:
            continue
        catalog, job = read_catalog(catalog_dir), read_job(job_path)
        (picked,) = pick(catalog, job, 1).bundles
        assert cents_of(picked) == min(totals), seed
        yield Instance(seed, catalog, job, picked, Resolver(Scenario(job, catalog)), parts, tables, min(totals))
