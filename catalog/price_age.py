"""How old prices may be: offers older than so many days are called out, or left out."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import date

import numpy as np

from catalog.offers import Offers
from catalog.reader import Catalog
from optimizer.vocabulary.problems import Fault, Place, Problem, in_order

OLD_PRICES = ("old-prices", "old-prices-left-out")  # the kinds of the warnings below
NAMED = 3  # old offers that a warning names; the others are counted


@dataclass(frozen=True)
class MaxAge:
    """Prices may be ``days`` old on ``on``, or on the newest date of their list where that is None: never by the clock.

    ``strict``: older ones are not used at all.
    """

    days: int
    on: date | None = None
    strict: bool = False

    def day(self, offers: Offers) -> date | None:
        """The day on which a list is looked at; None where there is neither a day nor an offer."""
        if self.on is not None or not len(offers):
            return self.on
        return date.fromisoformat(max(map(str, offers.as_of)))

    def old(self, offers: Offers) -> np.ndarray:
        """Where an offer is too old, a mask over all of them."""
        day = self.day(offers)
        if day is None:
            return np.zeros(len(offers), dtype=bool)
        oldest = day.toordinal() - self.days
        first = date.fromordinal(oldest).isoformat() if oldest > 0 else ""
        return np.array([str(stated) < first for stated in offers.as_of], dtype=bool)


def aged(catalog: Catalog, limit: MaxAge | None, file: str) -> Catalog:
    """The catalogue with its old prices called out in a warning, or left out too; ``file``: of its price list.

    A stock that is stated only beside an old price still bounds what its seller has of the part: the cautious side.
    """
    if limit is None:
        return catalog
    kept, warning = sifted(catalog.offers, limit, file)
    if warning is None:
        return catalog
    return replace(catalog, offers=kept, warnings=in_order((*catalog.warnings, warning)))


def sifted(offers: Offers, limit: MaxAge, file: str) -> tuple[Offers, Problem | None]:
    """The offers that may be used, and a warning where some are too old."""
    old, day = limit.old(offers), limit.day(offers)
    if day is None or not old.any():
        return offers, None
    rows = sorted(np.flatnonzero(old), key=lambda row: (str(offers.as_of[row]), int(offers.row[row])))
    named = [f"{offers.part[row]} from {offers.seller[row]} of {offers.as_of[row]}" for row in rows[:NAMED]]
    slots = {
        "count": str(len(rows)), "all": str(len(offers)), "days": str(limit.days), "on": day.isoformat(),
        "named": ", ".join([*named, *([f"{len(rows) - NAMED} more"] if len(rows) > NAMED else [])]),
    }  # fmt: skip
    place = Place(file, int(offers.row[rows[0]]))
    if not limit.strict:
        return offers, Fault("old-prices", slots).at(place)
    kept = Offers(**{field.name: getattr(offers, field.name)[~old] for field in fields(offers)})
    return kept, Fault("old-prices-left-out", slots).at(place)
