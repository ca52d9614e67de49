"""The bundle to settle on over several price lists, as data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.search.branch_and_bound import Status
from optimizer.writing.content.least_regret import old_prices, own_worst
from optimizer.writing.data.answer_json import bundle_data
from optimizer.writing.words import sentences
from optimizer.writing.words.json_figures import Json, amount

if TYPE_CHECKING:
    from optimizer.answers.minimax_regret import LeastRegretAnswer


SCHEMA = 1
BUYING = ("total", "purchases", "freight", "proven")  # of a bundle's data: each list has its own


def settled_data(told: LeastRegretAnswer) -> Json:
    """The bundle to settle on for other programs: money as text with two decimals. ``bundles`` has the bundle as an
    answer has it, so that ``borewatt audit`` reads it, without what it is bought for."""
    job, names, catalogs, found, answer = told.job, told.names, told.catalogs, told.settled, told.shown
    data: Json = {
        "schema": SCHEMA, "job": job.title, "currency": catalogs[0].currency,
        "status": Status.PROVEN if found.bought else Status.NONE,
        "worst": amount(found.worst) if found.bought else None,
        "warnings": old_prices(catalogs),
        "lists": [],
        "bundles": [],
    }  # fmt: skip
    for place, (name, catalog, each) in enumerate(zip(names, catalogs, found.lists, strict=True)):
        own = None
        if each is not None and each.own:
            worst, where = own_worst(names, found.lists, each)
            own = {"models": each.cheapest.models, "counts": each.cheapest.counts,
                   "worst": None if worst is None else amount(worst), "where": where}  # fmt: skip
        there = found.bought[place] if found.bought else None
        data["lists"].append({
            "list": name, "prices_as_of": list(sentences.price_dates(catalog)),
            "cheapest": None if each is None else amount(each.cents),
            "total": None if there is None or there.cents is None else amount(there.cents),
            "extra": amount(found.extras[place]) if there is not None else None,
            "own": own,
        })  # fmt: skip
    if answer is not None:
        whole = bundle_data(answer, answer.options[0])
        data["bundles"].append({key: value for key, value in whole.items() if key not in BUYING})
    return data
