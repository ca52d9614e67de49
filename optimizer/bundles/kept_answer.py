"""The answer kept beside a job: what it rests on, whether it is as it was written, and what its bundle was.

It is the JSON answer with more under "inputs": how many options were asked for, which prices were too old, the version
of the rules, and the digest of its own content, so that an edit by hand is noticed. The digest does not depend on
spaces or line ends.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from catalog.part_kinds import EACH_LOAD, PART_KINDS, POOLS
from catalog.price_age import MaxAge
from catalog.reader import Catalog
from optimizer.bundles.bundle import Bundle
from optimizer.bundles.bundle_schema import ANSWER_SCHEMA
from optimizer.bundles.order import Line, Order, Purchase
from optimizer.inputs.file_tables import FileTable, FileValue
from optimizer.inputs.job import Job
from optimizer.rules.limits import RULES_VERSION
from optimizer.vocabulary.bounded_files import read_bounded
from optimizer.vocabulary.control_signs import plain_json

if TYPE_CHECKING:
    from optimizer.bundles.answer_form import OrderForm, ShapeForm, WhyForm

SEAL = "answer"  # the key under "inputs" of the digest of the answer itself
LARGEST_ANSWER = 10_000_000  # bytes; an answer with many options has thousands
BUDGET = "budget"  # the limit
Content = dict[str, FileValue]


@dataclass(frozen=True)
class BundleShape:
    """What makes two bundles the same: parts, counts and wiring. Prices, sellers and legs do not.

    ``each_load``: by kind the part of each load; ``pools``: by kind the pieces of each part.
    """

    models: Mapping[str, str]
    counts: Mapping[str, int]
    strings: tuple[tuple[int, int, int], ...]  # tracker, parallel, series
    bank: tuple[int, int]  # series, parallel
    each_load: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    pools: Mapping[str, Mapping[str, int]] = field(default_factory=dict)

    @property
    def parts(self) -> tuple[str, ...]:
        """Every part that was chosen; extras follow by rule."""
        of_loads = (part for parts in self.each_load.values() for part in parts.values())
        pooled = (part for pool in self.pools.values() for part in pool)
        return tuple(dict.fromkeys((*self.models.values(), *of_loads, *pooled)))

    @classmethod
    def of(cls, bundle: Bundle) -> BundleShape:
        """The shape of a bundle."""
        wired = tuple((s.tracker, s.parallel, s.series) for s in bundle.strings)
        each_load = {kind: {load: row["part"] for load, row in rows.items()} for kind, rows in bundle.each_load.items()}
        bank = (bundle.bank_series, bundle.bank_parallel)
        return cls(bundle.models, bundle.counts, wired, bank, each_load, bundle.pools)


@dataclass(frozen=True)
class Kept:
    """A kept answer as far as it can be read. ``sealed``: its content is what was written.

    ``cents``, ``shape`` and ``order`` are of its first bundle; None where it has none, or none that can be read.
    ``barred``: the limits that left nothing, and ``least`` the cheapest total where only the budget did, where it says
    so. ``inputs``: what it rests on; ``seal``: the digest of its content that it states.
    """

    sealed: bool
    answered: bool
    cents: int | None
    shape: BundleShape | None
    order: Order | None
    barred: tuple[str, ...]
    least: int | None
    inputs: FileTable
    seal: str

    def rests_on(self, inputs: FileTable) -> bool:
        """Whether it is up to date: written from these inputs, and not touched since."""
        return self.sealed and dict(self.inputs) == dict(inputs)


def inputs_of(job: Job, catalog: Catalog, options: int, limit: MaxAge | None) -> Content:
    """What an answer rests on: the digests of job, weather file and catalogue, what was asked beside them, and the
    version of the rules."""
    day = None if limit is None else limit.day(catalog.offers)
    ages = None if limit is None else {
        "days": limit.days, "on": None if day is None else day.isoformat(), "strict": limit.strict,
    }  # fmt: skip
    return {
        **job.digests, "catalog": catalog.digest, "options": options, "max_age": ages, "rules": RULES_VERSION,
    }  # fmt: skip


def sealed(answer: str, inputs: FileTable) -> str:
    """The text to keep of a JSON answer that rests on ``inputs``."""
    content: Content = json.loads(answer)
    content["inputs"] = dict(inputs)
    content["inputs"][SEAL] = _digest(content)
    return plain_json(json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False)) + "\n"


def _digest(content: FileTable) -> str:
    """The digest of an answer without its own, whatever the spaces and the order of its keys."""
    bare = {**content, "inputs": {key: value for key, value in content["inputs"].items() if key != SEAL}}
    text = json.dumps(bare, sort_keys=True, separators=(",", ":"))
    return f"sha256:{hashlib.sha256(text.encode()).hexdigest()}"


def read_kept_file(path: Path) -> Kept:
    """The kept answer of a file, as far as it can be read. Raises OSError where the file cannot be."""
    return read_kept(read_bounded(path, LARGEST_ANSWER).decode("utf-8-sig", errors="replace"))


def read_kept(text: str) -> Kept:
    """A kept answer, as far as it can be read: of a text that is none, nothing."""
    from optimizer.bundles.answer_form import OrderForm, ShapeForm, WhyForm, cents, read

    try:
        content = json.loads(text)
    except (ValueError, RecursionError):
        content = {}
    if not isinstance(content, dict) or not isinstance(content.get("inputs"), dict):
        content = {"inputs": {}}
    inputs = {key: value for key, value in content["inputs"].items() if key != SEAL}
    seal = str(content["inputs"].get(SEAL, ""))
    whole = content.get("schema") == ANSWER_SCHEMA and seal == _digest(content)
    bundles = content.get("bundles")
    first = bundles[0] if isinstance(bundles, list) and bundles else None
    bundle: FileTable = first if isinstance(first, dict) else {}
    return Kept(whole, bool(bundles), cents(bundle.get("total")), _shape(read(ShapeForm, bundle)),
                _order(read(OrderForm, bundle)), *_barred(read(WhyForm, content.get("why"))), inputs, seal)  # fmt: skip


def _shape(found: ShapeForm | None) -> BundleShape | None:
    if found is None:
        return None
    wired = tuple((s.tracker, s.parallel, s.series) for s in found.strings)
    bank = (found.bank.series, found.bank.parallel)
    each_load = {kind: getattr(found, PART_KINDS[kind].key) for kind in EACH_LOAD}
    pools = {kind: getattr(found, PART_KINDS[kind].key) for kind in POOLS}
    return BundleShape(found.models, found.counts, wired, bank, each_load, pools)


def _order(found: OrderForm | None) -> Order | None:
    if found is None:
        return None
    purchases = tuple(
        Purchase(p.part, p.needed, p.on_hand, tuple(Line(n.seller, n.quantity, n.unit_price) for n in p.lines))
        for p in found.purchases
    )
    freight = tuple((charge.seller, charge.cost) for charge in found.freight)
    return Order(purchases, freight, tuple((charge.seller, charge.tax) for charge in found.freight if charge.tax))


def _barred(found: WhyForm | None) -> tuple[tuple[str, ...], int | None]:
    from optimizer.bundles.answer_form import cents

    stands = [each for clash in found.conflicts for each in clash.limits] if found is not None else []
    least = next((cents(each.value) for each in stands if each.limit == BUDGET), None)
    return tuple(dict.fromkeys(each.limit for each in stands)), least
