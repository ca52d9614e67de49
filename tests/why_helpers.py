"""Random instances that a bundle meets, each seen from both sides: the explanation's and the brute force's."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from math import inf
from pathlib import Path
from typing import Any
from unittest import mock

from catalog.reader import Catalog, read_catalog
from optimizer.bundle import Bundle
from optimizer.explain.again import Again, Case, cents_of
from optimizer.job import Job, read_job
from optimizer.search import pick
from tests.brute import force
from tests.brute.draw_job import toml
from tests.brute.force import nodes_of
from tests.brute.instances import write_instance
from tests.brute.parts import Parts, read_parts, with_prices
from tests.brute.reading import Job as BruteJob
from tests.brute.reading import job_of

# What the explanation may leave out and the brute force may not: bank strings without end. It is given as many there
# as money allows (`Instance.least`).
ENDLESS = "bank-parallel"
KINDS = ("converter", "panel", "battery", "rack")


def groups(seeds: int, size: int = 25) -> list[range]:
    """The seeds from 0 on, in groups that are one test each."""
    return [range(start, min(start + size, seeds)) for start in range(0, seeds, size)]


def name_of(seeds: range) -> str:
    """The name of a group in a test's id."""
    return f"{seeds.start}-{seeds.stop - 1}"


@dataclass(frozen=True)
class Instance:
    """One instance. ``catalog``, ``job``, ``picked`` and ``again`` are of the product; ``parts`` and ``written`` (the
    job file's tables) of the brute force, and so is ``optimum``, the least total in cents."""

    seed: int
    catalog: Catalog
    job: Job
    picked: Bundle
    again: Again
    parts: Parts
    written: Mapping[str, Any]
    optimum: int

    def retyped(self, *changes: tuple[str, Any]) -> BruteJob:
        """The job read from its file with dotted keys typed anew; None takes a key out."""
        tables = tomllib.loads(toml(dict(self.written)))
        for dotted, value in changes:
            owner, _, key = dotted.rpartition(".")
            table = tables.setdefault(owner, {}) if not owner.startswith("load.") else self._load(tables, owner)
            table.pop(key, None)
            if value is not None:
                table[key] = value
        return job_of(tomllib.loads(toml(tables)))

    @staticmethod
    def _load(tables: dict[str, Any], owner: str) -> dict[str, Any]:
        return next(load for load in tables["load"] if load["name"] == owner.removeprefix("load."))

    def least(
        self,
        *,
        job: BruteJob | None = None,
        parts: Parts | None = None,
        without: Iterable[str] = (),
        slack: Mapping[str, float] = {},
        must: Mapping[str, int | None] = {},
        never: Iterable[str] = (),
    ) -> float:
        """The brute force's least total in cents; infinite where there is no bundle.

        ``without`` may name bank-parallel. Only totals below the optimum, or equal to it, are then of use: it allows
        as many bank strings as any bundle of that total can have batteries.
        """
        parts, asked = parts or self.parts, job or self.retyped()
        dropped, slack = frozenset(without), dict(slack)
        if ENDLESS in dropped:
            slack[ENDLESS] = self._most_batteries(asked)
        totals = nodes_of(
            parts, asked, dropped - {ENDLESS}, slack=slack, must=must, never=frozenset(never)
        ).values()  # fmt: skip
        return min((cents(best.total) for best in totals), default=inf)

    def _most_batteries(self, job: BruteJob) -> int:
        most = 0
        for battery in self.parts.batteries:
            prices = [offer.cents for offer in self.parts.offers if offer.part == battery.part]
            most = max(most, job.on_hand.get(battery.part, 0) + (self.optimum // min(prices) if prices else 0))
        return most

    def least_with_extra(self, extra: str, parts: Parts) -> float:
        """As ``least``, of the bundles that need an extra. `must` counts extras; only its guard does not name them."""
        with mock.patch.object(force, "check_names"):
            return self.least(parts=parts, must={extra: None})

    def priced(self, part: str, change: Callable[[int], int]) -> Parts:
        """The parts with every offer of one of them at ``change(cents)``."""
        return with_prices(self.parts, lambda name, _, now: change(now) if name == part else now)


def cents(total: Decimal) -> int:
    """A total of the brute force in cents."""
    assert total * 100 == int(total * 100)
    return int(total * 100)


def instances(folder: Path, seeds: Iterable[int]) -> Iterator[Instance]:
    """The instances of those seeds that a bundle meets; the product's pick costs what the brute force finds."""
    for seed in seeds:
        catalog_dir, job_path = write_instance(folder / str(seed), seed)
        catalog, job = read_catalog(catalog_dir), read_job(job_path)
        written = tomllib.loads(job_path.read_text(encoding="utf-8"))
        found = pick(catalog, job, 1).bundles
        parts = read_parts(catalog_dir)
        optimum = min((cents(best.total) for best in nodes_of(parts, job_of(written)).values()), default=inf)
        assert [cents_of(bundle) for bundle in found] == ([optimum] if optimum < inf else []), seed
        if found:
            yield Instance(
                seed, catalog, job, found[0], Again(Case(job, catalog)), parts, written, int(optimum)
            )  # fmt: skip
