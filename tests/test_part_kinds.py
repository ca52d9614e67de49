"""Kinds of parts are data: one registry says how a bundle takes each; nobody lists them beside it."""

from __future__ import annotations

import ast
from dataclasses import replace

from catalog.part_kinds import BESIDE, EACH_LOAD, ONE_MODEL, PART_KINDS, POOLS
from catalog.tables import PART_TABLES
from optimizer.bundles.bundle_schema import KEYS
from tests.command_line import ROOT
from tests.mutations.parts import bundle


def test_every_table_of_parts_has_its_kind() -> None:
    assert set(PART_KINDS) == {spec.kind for spec in PART_TABLES}
    for spec in PART_TABLES:
        assert {column.name for column in spec.columns} >= set(PART_KINDS[spec.kind].telling), spec.kind


def test_a_bundle_has_a_place_for_each_kind_that_is_chosen() -> None:
    whole = bundle()
    assert tuple(whole.rows_of_models) == tuple(whole.models) == ONE_MODEL
    assert tuple(whole.each_load) == EACH_LOAD
    assert tuple(whole.pools) == POOLS
    assert tuple(replace(whole, rack=None).rows_of_models) == ONE_MODEL[:-1]


def test_bundle_files_name_what_stands_beside_the_models() -> None:
    """The keys of the file contract, by which people and other programs know them."""
    assert {kind: PART_KINDS[kind].key for kind in BESIDE} == {"starter": "starters", "tank": "tanks"}
    assert {"models", "starters", "tanks"} <= set(KEYS[""])


def test_nobody_lists_kinds_beside_the_registry() -> None:
    """A tuple, list or set of three kinds or more is the registry's to make."""
    for path in sorted((ROOT / "optimizer").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Tuple | ast.List | ast.Set):
                named = {each.value for each in node.elts if isinstance(each, ast.Constant)} & set(PART_KINDS)
                assert len(named) < 3, f"{path}: {named}"
