"""A bundle that comes from a file: one option of an answer of this tool, or an offer written by hand.

A hand-written file names its parts, how many, and how they are wired; parts that stand in no catalogue bring their
figures along. What it contradicts itself in is wrong input, and all of it is said at once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from catalog.part_kinds import ONE_MODEL, PART_KINDS
from catalog.reader import Catalog, Name, Row, Table, read_record
from catalog.rows import BatteryRow, ConverterRow, PanelRow, PartRow
from catalog.tables import TABLES
from optimizer.bundles.bundle import Bundle, TrackerStrings
from optimizer.bundles.bundle_schema import ANSWER_SCHEMA, KEYS
from optimizer.bundles.order import Line, Order, Purchase
from optimizer.inputs.file_tables import FileTable, FileTables, FileValue
from optimizer.inputs.job import Job
from optimizer.inputs.toml_lines import Steps, line_of
from optimizer.rules import load_figures, strings
from optimizer.rules.legs import placed_loads
from optimizer.vocabulary.bounded_files import is_file
from optimizer.vocabulary.problems import InputError, Place, Problem, perhaps


def read_bundle(path: str | Path, job: Job, catalog: Catalog) -> Bundle:
    """Read a bundle: ``FILE#RANK`` of a JSON answer (rank 1 where none is named), or a TOML or JSON file by hand.

    The bundle's ``name`` is the file's, with the rank of an answer. ``order`` stands where the file lists purchases
    of catalogue parts; a price for the whole is in ``quoted_cents``, in cents. Raises InputError with all problems.
    """
    file, rank = split_rank(str(path))
    reader = _Reader(file, job, catalog)
    content = reader.content()
    answer = content.get("bundles") is not None
    at: Steps = ()
    if answer:
        content, at = reader.option(content, rank or 1)
    elif rank is not None:
        reader.report("no-such-rank", (), str(rank), expected="a JSON answer where a rank is named")
    bundle = None if reader.problems else reader.bundle(content, at, answer)
    if bundle is None or reader.problems:
        raise InputError(reader.problems)
    return bundle


def split_rank(path: str) -> tuple[str, int | None]:
    """The file and the rank of ``FILE#RANK``; a file whose own name ends so is taken as a file."""
    found = re.fullmatch(r"(.+)#([0-9]{1,9})", path, re.DOTALL)
    if found is None or is_file(path):
        return path, None
    return found[1], int(found[2])


class _Reader(FileTables):
    """Reads one bundle."""

    largest = 10_000_000  # an answer with many options has thousands
    holds = "a bundle with [models], [counts], [[strings]] and [bank]"
    may_be_json = True

    def __init__(self, file: str, job: Job, catalog: Catalog) -> None:
        super().__init__(file)
        self.job, self.catalog = job, catalog
        self.name = Path(file).name

    def option(self, answer: FileTable, rank: int) -> tuple[dict[str, FileValue], Steps]:
        """The bundle of that rank of an answer, and where it stands."""
        self.name = f"{Path(self.file).name}#{rank}"
        bundles = answer["bundles"]
        if answer.get("schema") != ANSWER_SCHEMA:
            expected = f"the number {ANSWER_SCHEMA}, the only form of an answer that is known here"
            self.report("wrong-type", ("schema",), answer.get("schema"), expected=expected, example='"schema": 1')
        currency = answer.get("currency", self.catalog.currency)
        if currency != self.catalog.currency:
            self.report("other-currency", ("currency",), currency, currency=self.catalog.currency)
        there = bundles if isinstance(bundles, list) else []
        for position, bundle in enumerate(there):
            if isinstance(bundle, dict) and bundle.get("rank") == rank:
                return bundle, ("bundles", position)
        ranks = [str(bundle.get("rank")) for bundle in there if isinstance(bundle, dict)]
        expected = f"one of the ranks {', '.join(ranks)}" if ranks else "an answer with a bundle; this one has none"
        self.report("no-such-rank", ("bundles",), str(rank), expected=expected)
        return {}, ()

    # the bundle ---------------------------------------------------------------------------------------------

    def bundle(self, content: FileTable, at: Steps, answer: bool) -> Bundle | None:
        """The whole bundle; None where a problem was found."""
        self.unknown_keys(content, at, (*KEYS[""], *(KEYS["answer"] if answer else ())))
        own = self.table(content, (*at, "part"), ONE_MODEL)
        models = self.table(content, (*at, "models"), ONE_MODEL)
        records: dict[str, Any] = {}  # each kind's own row: only run time knows the kind
        taken: list[tuple[str, str]] = []
        for kind in ONE_MODEL:
            record = self.part(kind, models, own, at, taken)
            if record is not None:
                records[kind] = record
        counts_at = (*at, "counts")
        counts = self.table(content, counts_at, ONE_MODEL)
        units = self.whole(counts, (*counts_at, "converter"), "how many converters there are", required=True)
        pieces = {
            kind: self.whole(counts, (*counts_at, kind), f"how many {kind}s")
            for kind in ONE_MODEL
            if kind != "converter"
        }
        carried = self.strings(content, (*at, "strings"), records.get("panel"))
        panels = sum(tracker.panels for tracker in carried)
        stated = pieces["panel"]
        if carried and stated is not None and stated != panels:
            working = " + ".join(f"{s.parallel} x {s.series}" for s in carried)
            expected = f"{panels}: the strings are {working}"
            self.report("counts-disagree", (*counts_at, "panel"), stated, expected=expected)
        bank = self.bank(content, (*at, "bank"), records.get("converter"), records.get("battery"))
        if bank is not None:
            bank = self.whole_bank(bank, (*at, "bank"), counts, (*counts_at, "battery"), pieces["battery"])
        starters = self.each_load(self.catalog.starters, content, at, taken)
        tanks = self.pool(self.catalog.tanks, content, at, taken)
        legs = self.legs(content, (*at, "legs"))
        quoted, order = self.price(content, at, records)
        if self.problems or units is None or bank is None:
            return None
        return Bundle(
            converter=records["converter"], panel=records["panel"], battery=records["battery"],
            rack=records.get("rack"), units=units, bank_series=bank[0], bank_parallel=bank[1], strings=carried,
            rack_units=pieces["rack"], order=order, legs=legs, defaults_taken=tuple(taken), quoted_cents=quoted,
            name=self.name, starters=starters, tanks={part: count for part, (count, _) in tanks.items()},
            tank_records={part: record for part, (_, record) in tanks.items()},
        )  # fmt: skip

    def part(
        self, kind: str, models: FileTable, own: FileTable, at: Steps, taken: list[tuple[str, str]]
    ) -> PartRow | None:
        """A part of the catalogue, or one that the file describes; its defaults go into ``taken``."""
        path: Steps = (*at, "models", kind)
        name = models.get(kind)
        if name is not None and (not isinstance(name, str) or not name.strip()):
            self.report("wrong-type", path, name, expected="the id of a part in quotes", example=f'{kind} = "part-id"')
            return None
        if kind in own:
            return self.own_part(kind, own, name, at, taken)
        if name is None:
            if PART_KINDS[kind].needed:
                example = f'{kind} = "part-id" under [models], or describe the part under [part.{kind}].'
                self.missing(path, f"which {kind} it is", example)
            return None
        table = self.catalog.tables[kind]
        row = table.index_of(name)
        if row is None:
            near = perhaps(name, [str(part) for part in table.part])
            self.report("unknown-name", path, name, what=f"a {kind}", perhaps=near)
            return None
        taken += [(name, column) for column, mask in table.taken.items() if mask[row]]
        record: PartRow = table.record(row)
        return record

    def own_part(
        self, kind: str, own: FileTable, name: str | None, at: Steps, taken: list[tuple[str, str]]
    ) -> PartRow | None:
        """A part that the file describes with the columns of the CSV files, under the same checks."""
        path: Steps = (*at, "part", kind)
        row = self.as_table(own[kind], path, f"[part.{kind}]")
        if row is None:
            return None
        part = row.get("part", name or f"offered-{kind}")
        if name is not None and part != name:
            self.report("two-ids", (*path, "part"), part, other=name)
        elif any(table.index_of(part) is not None for table in self.catalog.tables.values() if isinstance(part, str)):
            self.report("id-of-catalogue", (*path, "part") if "part" in row else path, part)
        dotted = ".".join(map(str, path))
        record, problems = read_record(kind, {"part": part, **row}, Place(self.file, None, None, dotted))
        for problem in problems:
            column = (problem.place.name or dotted).rsplit(".", 1)[-1]
            line = line_of(self.lines, (*path, column))
            place = Place(self.file, line, None, problem.place.name, problem.place.cell)
            self.problems.append(Problem(problem.kind, place, problem.slots))
        empty = [c.name for c in TABLES[kind].columns if c.default is not None and row.get(c.name) in (None, "")]
        taken += [(str(part), column) for column in empty]
        return record

    def each_load(
        self, table: Table[Row, Name], content: FileTable, at: Steps, taken: list[tuple[str, str]]
    ) -> dict[str, Row]:
        """The part of a kind that each load has, by load name."""
        path: Steps = (*at, PART_KINDS[table.kind].key)
        names = [load.name for load in self.job.loads]
        stated = self.table(content, path, tuple(names))
        read = {load: self.beside(table, stated[load], (*path, load), taken) for load in names if load in stated}
        return {load: row for load, row in read.items() if row is not None}

    def pool(
        self, table: Table[Row, Name], content: FileTable, at: Steps, taken: list[tuple[str, str]]
    ) -> dict[str, tuple[int, Row]]:
        """Parts of a kind with pieces of each: pieces and row by part id."""
        path: Steps = (*at, PART_KINDS[table.kind].key)
        stated = self.table(content, path, tuple(map(str, table.part)))
        found = {}
        for part in stated:
            pieces = self.whole(stated, (*path, part), f"how many of this {table.kind}")
            row = self.beside(table, part, (*path, part), taken)
            if pieces is not None and row is not None:
                found[part] = (pieces, row)
        return found

    def beside(self, table: Table[Row, Name], name: object, path: Steps, taken: list[tuple[str, str]]) -> Row | None:
        """A part of the catalogue that stands beside the models."""
        row = table.index_of(name) if isinstance(name, str) else None
        if row is None:
            near = perhaps(str(name), [str(part) for part in table.part])
            self.report("unknown-name", path, str(name), what=f"a {table.kind}", perhaps=near)
            return None
        taken += [(str(table.part[row]), column) for column, mask in table.taken.items() if mask[row]]
        return table.record(row)

    def strings(self, content: FileTable, path: Steps, panel: PanelRow | None) -> tuple[TrackerStrings, ...]:
        """What each tracker carries; trackers are numbered in order where the file does not number them."""
        entries = self.tables(content, path, KEYS["strings"])
        if entries is None:
            self.missing(path, "what each tracker carries", "[[strings]] with parallel = 1 and series = 6.")
            return ()
        numbers: list[int | None] = []
        wired: list[tuple[int, int, FileValue]] = []
        for position, entry in entries:
            here = (*path, position)
            numbers.append(self.whole(entry, (*here, "tracker"), "the tracker's number"))
            parallel = self.whole(entry, (*here, "parallel"), "equal strings in parallel on it", required=True)
            series = self.whole(entry, (*here, "series"), "panels in series in each of them", required=True)
            fused = entry.get("fused")
            if fused is not None and not isinstance(fused, bool):
                self.report("wrong-type", (*here, "fused"), fused, expected="true or false", example="fused = true")
            wired.append((parallel or 0, series or 0, fused))
        free = iter(sorted(set(range(1, 2 * len(numbers) + 1)) - set(numbers)))
        carried = []
        for (position, _), number, (parallel, series, stated) in zip(entries, numbers, wired, strict=True):
            if number is not None and number in numbers[:position]:
                self.report("doubled-tracker", (*path, position, "tracker"), number)
            fused = panel is not None and parallel > 0 and self.needs_fuses(parallel, panel)
            # strings that need fuses and are said to have none fail fuse-fits in the audit
            carried.append(TrackerStrings(number or next(free), parallel, series, fused and stated is not False))
        return tuple(sorted(carried, key=lambda tracker: tracker.tracker))

    def needs_fuses(self, parallel: int, panel: PanelRow) -> bool:
        """Whether that many strings of a panel need fuses (NEC 690.9)."""
        rear = self.job.site.rear_light
        isc_a = strings.short_circuit_current(panel["isc_a"], panel["bifacial_pct"], rear)
        return bool(strings.is_fused(parallel, isc_a, panel["max_fuse_a"]))

    def bank(
        self, content: FileTable, path: Steps, converter: ConverterRow | None, battery: BatteryRow | None
    ) -> tuple[int, int | None] | None:
        """Batteries in series, and strings in parallel where the file says; the class voltages settle a series that
        is left out."""
        table = self.table(content, path, KEYS["bank"])
        series = self.whole(table, (*path, "series"), "batteries in series")
        parallel = self.whole(table, (*path, "parallel"), "bank strings in parallel")
        if "series" not in table and converter is not None and battery is not None:
            bank_v, class_v = float(converter["bank_class_v"]), float(battery["class_v"])
            if bank_v % class_v:
                meaning = f"batteries in series; of {class_v:g} V none make {bank_v:g} V"
                self.missing((*path, "series"), meaning, "series under [bank].")
            else:
                series = int(bank_v / class_v)
        readable = series is not None and (parallel is not None or "parallel" not in table)
        return (series, parallel) if series is not None and readable else None

    def whole_bank(
        self, bank: tuple[int, int | None], path: Steps, counts: FileTable, counted: Steps,
        batteries: int | None,
    ) -> tuple[int, int] | None:  # fmt: skip
        """The bank with its strings in parallel, which follow from the number of batteries where they are left out."""
        series, parallel = bank
        if parallel is None:
            if batteries is None:
                if "battery" not in counts:
                    example = "parallel under [bank], or battery under [counts]."
                    self.missing((*path, "parallel"), "bank strings in parallel", example)
                return None
            parallel = max(1, batteries // series)
        if batteries is not None and batteries != series * parallel:
            expected = f"{series * parallel}: the bank is {series} in series x {parallel} in parallel"
            self.report("counts-disagree", counted, batteries, expected=expected)
        return series, parallel

    def legs(self, content: FileTable, path: Steps) -> dict[str, tuple[int, int]] | None:
        """Which leg each unit of a 120 V load stands on; None where the file does not say."""
        table = self.table(content, path, KEYS["legs"])
        named: list[list[str]] = []
        for leg in KEYS["legs"]:
            names = table.get(leg, [])
            if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
                example = f'{leg} = ["lights"]'
                self.report("wrong-type", (*path, leg), names, expected="a list of load names", example=example)
                return None
            named.append(names)
        if not any(named):
            return None
        figures = tuple(load_figures.load_figures(load, self.job.site.sun_hours) for load in self.job.loads)
        split = self.job.supply.split_phase
        placed = {load.name: load for load in placed_loads(figures)} if split else {}
        strangers = set(named[0] + named[1]) - placed.keys()
        for leg, names in zip(KEYS["legs"], named, strict=True):
            for name in dict.fromkeys(names):
                if name in strangers:
                    near = perhaps(name, list(placed))
                    self.report("not-on-a-leg", (*path, leg), name, perhaps=near)
        plan = {name: (named[0].count(name), named[1].count(name)) for name in placed}
        for name, on in plan.items():
            load = placed[name]
            pinned = load.leg is not None and on[2 - load.leg]
            if not strangers and (sum(on) != load.count or pinned):
                where = f" all on leg {load.leg}, as the job says" if load.leg is not None else ""
                self.report("legs-disagree", path, name, expected=f"{name} {load.count} times{where}")
        return plan

    # the price ----------------------------------------------------------------------------------------------

    def price(self, content: FileTable, at: Steps, records: Mapping[str, PartRow]) -> tuple[int | None, Order | None]:
        """The price asked for the whole in cents, and the order where the file lists one of catalogue parts.

        An order with parts of no catalogue, or that counts no extras at all, cannot be held against the price list:
        its total stands as the price asked.
        """
        quoted = self.cents(content, (*at, "quoted"), "the price asked for the whole")
        order = self.order(content, at)
        if order is None or self.problems:
            return quoted, order
        if quoted is not None:
            self.report("two-prices", (*at, "quoted"), content["quoted"])
        extras = self.catalog.extras
        bought = {purchase.part for purchase in order.purchases}
        own = any(self.catalog.tables[kind].index_of(str(record["part"])) is None for kind, record in records.items())
        bare = len(extras) > 0 and not any(extras.index_of(part) is not None for part in bought)
        return (order.cents, None) if own or bare else (None, order)

    def order(self, content: FileTable, at: Steps) -> Order | None:
        """The purchases, freight and tax that a file lists; their sums must agree."""
        path = (*at, "purchases")
        entries = self.tables(content, path, KEYS["purchases"])
        charged = self.tables(content, (*at, "freight"), KEYS["freight"])
        if not entries:
            return None
        purchases = tuple(self.purchase(entry, (*path, position)) for position, entry in entries)
        if charged is None:
            self.missing((*at, "freight"), "what each seller asks for freight", "[[freight]] with seller and cost.")
        freight = tuple(
            (self.text(entry, (*at, "freight", position, "seller"), "the seller"),
             self.cents(entry, (*at, "freight", position, "cost"), "its freight", True) or 0)
            for position, entry in charged or []
        )  # fmt: skip
        tax = tuple(
            (self.text(entry, (*at, "freight", position, "seller"), "the seller"),
             self.cents(entry, (*at, "freight", position, "tax"), "its tax") or 0)
            for position, entry in charged or []
            if "tax" in entry
        )  # fmt: skip
        order = Order(purchases, freight, tax)
        self.agrees(content, (*at, "total"), "the delivered total", order.cents)
        return order

    def purchase(self, entry: FileTable, path: Steps) -> Purchase:
        """What is bought of one part."""
        lines = tuple(
            Line(
                self.text(line, (*path, "lines", position, "seller"), "the seller"),
                self.whole(line, (*path, "lines", position, "quantity"), "pieces bought", required=True) or 0,
                self.cents(line, (*path, "lines", position, "unit_price"), "the price of a piece", True) or 0,
            )
            for position, line in self.tables(entry, (*path, "lines"), KEYS["lines"]) or []
        )
        purchase = Purchase(
            self.text(entry, (*path, "part"), "the part's id"),
            self.whole(entry, (*path, "needed"), "pieces needed", required=True) or 0,
            self.whole(entry, (*path, "on_hand"), "pieces on hand", least=0) or 0,
            lines,
        )
        self.agrees(entry, (*path, "cost"), "its lines", purchase.cents)
        return purchase

    def agrees(self, table: FileTable, path: Steps, what: str, cents: int) -> None:
        """Report a stated amount that its parts do not add up to."""
        stated = self.cents(table, path, what)
        if stated is not None and stated != cents and not self.problems:
            self.report("counts-disagree", path, table[str(path[-1])], expected=f"{cents / 100:.2f}, {what} added up")
