"""A weather file on a plane for other programs: one JSON document."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.vocabulary.months import MONTHS
from optimizer.writing.words import weather
from optimizer.writing.words.json_figures import figure, json_text

if TYPE_CHECKING:
    from optimizer.answers.sun_on_plane import SunOnPlane

SUN_SCHEMA = 1


def sun_document(found: SunOnPlane) -> str:
    """The document: kWh/m2 an average day, degC, degrees; ``coldest.value`` is null where the file can state none."""
    years, cold = found.years, found.years.coldest
    content = {
        "schema": SUN_SCHEMA,
        "inputs": {"weather": years.digest},
        "place": {"latitude": years.latitude, "longitude": years.longitude, "utc_offset_h": years.utc_offset_h},
        "years": list(years.years),
        "plane": {"tilt_deg": found.plane.tilt_deg, "azimuth_deg": found.plane.azimuth_deg,
                  "ground": found.plane.ground, "tilt_chosen": found.chosen},
        "sun_hours": [figure(value) for value in years.sun_hours],
        "darkest": [
            {"days": run.days, "from": weather.start(run), "sun_hours": figure(run.sun_hours),
             "share": figure(run.share)}
            for run in found.darkest
        ],
        "tilts": [
            {"tilt_deg": each.tilt_deg, "darkest_month": MONTHS[each.darkest_month],
             "darkest_sun_hours": figure(each.darkest), "sun_hours": [figure(value) for value in each.sun_hours]}
            for each in found.tilts
        ],
        "best_tilt_deg": found.best.tilt_deg,
        "hottest": {"value": figure(years.hottest_c), "basis": weather.hottest_basis(years)},
        "coldest": {
            "value": figure(cold.mean_lowest_c), "basis": cold.basis if cold.stated else weather.coldest(cold),
            "lowest_hour": figure(cold.lowest_c), "lowest_of_20_years": figure(cold.lowest_20y_c),
        },
        "notes": [{"kind": note.kind.id, "text": weather.note(note)} for note in years.notes],
    }  # fmt: skip
    return json_text(content)
