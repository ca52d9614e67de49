"""What is said of a replay in words: hours short and when, the bank's lowest, what was not used, and what stands behind
it."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

from optimizer.vocabulary.months import MONTHS
from optimizer.weather.rows import MONTH_STARTS
from optimizer.weather.year import DAYS, LONG_RECORD
from optimizer.writing.words.figures import figure, number, share

if TYPE_CHECKING:
    from collections.abc import Callable

    from optimizer.inputs.job import Job, Weather
    from optimizer.rules.replayed_year import Replayed, ReplayedYear


def date(day: int) -> str:
    """A day of the year, from 0: "29 December"."""
    day %= DAYS
    month = max(place for place in range(12) if MONTH_STARTS[place] <= day)
    return f"{day - MONTH_STARTS[month] + 1} {MONTHS[month]}"


def year_name(weather: Weather, year: ReplayedYear) -> str:
    """Which year it is: a typical one, or its number."""
    return "a typical year" if year.year is None else str(year.year)


def short_hours(year: ReplayedYear) -> str:
    """Hours short and their days: "18 h short on 2 days, the first 28 December"; "no hour short"."""
    if not year.hours_short:
        return "no hour short"
    days = "1 day" if year.days_short == 1 else f"{year.days_short} days"
    first = year.first_short[0] // 24 if year.first_short else 0
    which = "" if year.days_short == 1 else "the first "
    return f"{year.hours_short} h short on {days}, {which}{date(first)}"


def replay_lines(job: Job, found: Replayed, litres: Callable[[float], str]) -> list[str]:
    """All that is said of a bundle's replay, the hours short first. ``litres`` says a volume in the job's unit."""
    weather, worst = job.weather, found.worst
    if weather is None:
        return []
    name = PurePath(weather.file).name
    of_years = "" if len(found.years) == 1 else f", the worst of {len(found.years)}"
    said = [
        f"{name}, {year_name(weather, worst)}{of_years}: {short_hours(worst)}; "
        f"{worst.generator_free_days} days need no generator"
    ]
    if worst.first_short is not None:
        hour, lacks_w = worst.first_short
        outages = "1 outage" if worst.outages == 1 else f"{worst.outages} outages"
        said.append(
            f"{outages}, the longest of {worst.longest_outage_h} h; the first begins at {hour % 24:02}:00 on "
            f"{date(hour // 24)} and lacks {figure(lacks_w, 'W')}"
        )
    week = worst.worst_week
    lacks = f"{number(week.unserved_wh / 1000, 1)} kWh lack" if week.unserved_wh > 0 else "nothing lacks"
    said.append(f"worst week from {date(week.first)}: {lacks}, {number(week.sun_hours, 1)} h of sun a day")
    said.append(
        f"bank lowest {number(worst.lowest_charge_pct, 0)} % of its window on {date(worst.lowest_day)}, full on "
        f"{worst.full_days} days; {share(worst.curtailed_share)} of the array's energy not used, "
        f"{share(worst.clipped_share)} clipped"
    )
    if worst.water is not None and (worst.water.short_l > 0 or worst.water.lowest_l is not None):
        water = worst.water
        lacks = f"{litres(water.short_l)} short on {water.days_dry} days" if water.days_dry else "never short"
        low = "" if water.lowest_l is None else f"; the tanks hold {litres(water.lowest_l)} at the least"
        said.append(f"water {lacks}{low}")
    if found.new_bank_hours is not None:
        said.append(f"with a new bank: {found.new_bank_hours} h short")
    return [*said, behind(job)]


def behind(job: Job) -> str:
    """What a replay rests on, and what is not in it."""
    weather = job.weather
    long = weather is not None and len(weather.years.years) >= LONG_RECORD
    said = [] if long else ["a typical year has no bad year in it: passing it is no promise"]
    if weather is not None and not long and weather.years.years:
        said = ["few years: a worse one may come, so passing them is no promise"]
    if "replay.array_losses" not in job.stated:
        said.append("snow and shade are not in it")
    return "; ".join([*said, "the bank is taken aged, and at its coldest all year"])


def every_year(found: Replayed) -> list[list[str]]:
    """A row for each year: the year, hours and days short, kWh unserved, the bank's lowest and its day."""
    return [
        [
            "typical" if year.year is None else str(year.year), number(year.hours_short, 0), str(year.days_short),
            number(year.unserved_wh / 1000, 1), f"{number(year.lowest_charge_pct, 0)} %", date(year.lowest_day),
        ]
        for year in found.years
    ]  # fmt: skip


YEAR_HEADS = ("year", "h short", "days", "kWh lacking", "lowest", "on")
