"""The replay of a bundle for other programs: the worst year's figures, and each year's."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.vocabulary.months import MONTHS
from optimizer.weather.rows import MONTH_STARTS
from optimizer.writing.words.json_figures import Json, figure, json_text

if TYPE_CHECKING:
    from optimizer.answers.replayed_bundles import ReplayedBundles
    from optimizer.rules.replayed_year import Replayed, ReplayedYear

REPLAY_SCHEMA = 1


def replay_data(found: Replayed) -> Json:
    """A replay: the figures of the year with most hours short, and under ``years`` those of each."""
    data = _year(found.worst)
    if found.new_bank_hours is not None:
        data["new_bank_hours_short"] = found.new_bank_hours
    return data | {"years": [_year(year) for year in found.years]}


def replay_document(found: ReplayedBundles) -> str:
    """Bundles gone through a year: a document of their own."""
    content = {
        "schema": REPLAY_SCHEMA,
        "job": found.job.title,
        "inputs": found.job.digests | {"catalog": found.catalog.digest},
        "bundles": [
            {"name": each.bundle.name, "replay": replay_data(each.replay)}
            for each in found.audits
            if each.replay is not None
        ],
    }
    return json_text(content)


def _date(day: int) -> str:
    month = max(place for place in range(12) if MONTH_STARTS[place] <= day)
    return f"{month + 1:02}-{day - MONTH_STARTS[month] + 1:02}"


def _year(year: ReplayedYear) -> Json:
    data: Json = {
        "year": year.year,
        "hours_short": year.hours_short,
        "days_short": year.days_short,
        "outages": year.outages,
        "longest_outage_h": year.longest_outage_h,
        "first_short": None
        if year.first_short is None
        else {"date": _date(year.first_short[0] // 24), "hour": year.first_short[0] % 24,
              "lacking_w": figure(year.first_short[1])},
        "unserved_wh": figure(year.unserved_wh),
        "unserved_share": figure(year.unserved_share),
        "generator_free_days": year.generator_free_days,
        "worst_week": {
            "from": _date(year.worst_week.first),
            "unserved_wh": figure(year.worst_week.unserved_wh),
            "sun_hours": figure(year.worst_week.sun_hours),
        },
        "lowest_charge_pct": figure(year.lowest_charge_pct),
        "lowest_charge_date": _date(year.lowest_day),
        "full_days": year.full_days,
        "bank_cycles": figure(year.bank_cycles),
        "array_kwh": figure(year.array_kwh),
        "clipped_share": figure(year.clipped_share),
        "curtailed_share": figure(year.curtailed_share),
        "direct_share": figure(year.direct_share),
        "starts": dict(year.starts),
        "months": [
            {
                "month": name, "sun_hours": figure(month.sun_hours), "array_kwh": figure(month.array_kwh),
                "curtailed_kwh": figure(month.curtailed_kwh), "short_h": month.short_h,
                "lowest_charge_pct": figure(month.lowest_charge_pct),
            }
            for name, month in zip(MONTHS, year.months, strict=True)
        ],
    }  # fmt: skip
    if year.water is not None:
        water = year.water
        data["water"] = {
            "delivered_l": figure(water.delivered_l), "short_l": figure(water.short_l), "days_dry": water.days_dry,
            "lowest_l": None if water.lowest_l is None else figure(water.lowest_l),
        }  # fmt: skip
    return data
