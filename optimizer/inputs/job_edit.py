"""A job with one key changed, just as if a person had typed the new value into its file."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

from optimizer.inputs.job import Job, Load
from optimizer.inputs.job_checks import FIELDS
from optimizer.inputs.job_schema import KEYS, Key
from optimizer.inputs.job_values import read_value
from optimizer.inputs.job_values import written as as_written
from optimizer.vocabulary.problems import Fault
from optimizer.vocabulary.units import Quantity

PLAIN_QUANTITIES = ("running", "starting")  # fields that keep a quantity with its unit

KeyValue = Any  # a value as it would be typed for a key of the job: which type it has, the key's schema says


def split_key(job: Job, dotted: str) -> tuple[str, str, Load | None]:
    """(table, key, load) of a dotted key such as "load.bore pump.starting". Raises KeyError where there is none."""
    table, _, rest = dotted.partition(".")
    load = None
    if table == "load":
        name, _, rest = rest.rpartition(".")
        load = next((each for each in job.loads if each.name == name), None)
        if load is None:
            raise KeyError(dotted)
    if table not in KEYS or rest not in KEYS[table] or table == "weather":  # another plane reads the file otherwise
        raise KeyError(dotted)
    return table, rest, load


def key_of(job: Job, dotted: str) -> Key:
    """The dictionary's entry of a dotted key. Raises KeyError."""
    table, name, _ = split_key(job, dotted)
    return KEYS[table][name]


def with_key(job: Job, dotted: str, value: KeyValue) -> Job:
    """The job with a key set to a value as it stands in a file ("40 A", 0.8, ["lfp"]); None takes the key out.

    Raises ValueError where the value is not one that a job may state.
    """
    table, name, load = split_key(job, dotted)
    owner: Any = load if load is not None else getattr(job, table)
    field_name = "budget_cents" if dotted == "need.budget" else FIELDS.get(name, name) if table != "reserve" else name
    if value is None:
        default = next(field.default for field in fields(owner) if field.name == field_name)
        read: KeyValue = default
    else:
        read = read_value(value, KEYS[table][name])
        if isinstance(read, Fault):
            raise ValueError(f"{dotted} = {value!r}: {read.kind}")
        if isinstance(read, Quantity) and name not in PLAIN_QUANTITIES:
            read = read.value
        if dotted == "need.budget":
            read = round(float(str(read)) * 100)
    changed = replace(owner, **{field_name: read})
    if dotted == "site.coldest" and "site.bank_coldest" not in job.stated:
        changed = replace(changed, bank_coldest_c=read)  # where it is not stated the bank is as cold as the site
    if dotted == "site.hottest" and "site.bank_hottest" not in job.stated:
        changed = replace(changed, bank_hottest_c=read)
    texts = {key: text for key, text in job.written.items() if key != dotted}
    if value is not None:
        texts[dotted] = as_written(value)
    rest: dict[str, KeyValue] = {"written": texts, "stated": frozenset(texts)}
    if load is not None:
        rest["loads"] = tuple(changed if each is load else each for each in job.loads)
    else:
        rest[table] = changed
    return replace(job, **rest)


def value_of(job: Job, dotted: str) -> KeyValue:
    """The value of a key in base units, default or stated. Raises KeyError."""
    table, name, load = split_key(job, dotted)
    owner: Any = load if load is not None else getattr(job, table)
    if dotted == "need.budget":
        return None if owner.budget_cents is None else owner.budget_cents / 100
    value = getattr(owner, FIELDS.get(name, name) if table != "reserve" else name)
    return value.value if isinstance(value, Quantity) else value
