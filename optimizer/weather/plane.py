"""Light on a plane, hour by hour, and what of it reaches the cells of a panel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.weather.rows import HOURS
from optimizer.weather.sun import Sun

LOW_SUN_COS = 0.01745  # the library's own floor under the cosine of the zenith: 89 deg
GLASS = 1.526  # refractive index of a panel's glass (De Soto 2006)
SKY_THROUGH_GLASS = 0.95  # of the light of sky and ground


@dataclass(frozen=True)
class Plane:
    """The plane of an array: degrees from level, and the way it looks in degrees from true north by east; the share of
    light that the ground throws back."""

    tilt_deg: float
    azimuth_deg: float
    ground: float


@dataclass(frozen=True)
class PlaneLight:
    """W/m2 of each hour, an axis of years and one of 8,760 hours: on the plane, and through the glass to the cells."""

    plane: np.ndarray
    cells: np.ndarray


def beam_to_normal(beam: np.ndarray, sun: Sun) -> np.ndarray:
    """The beam square to the sun from what it brings to the level, never above what there is outside the air."""
    up = np.maximum(np.cos(np.radians(sun.zenith)), LOW_SUN_COS)
    normal: np.ndarray = np.minimum(beam.reshape(-1, HOURS) / up, sun.beyond_air)
    return normal.reshape(beam.shape)


def light_on(plane: Plane, figures: Mapping[str, np.ndarray], sun: Sun) -> PlaneLight:
    """The light of all hours on a plane, and behind the glass.

    By pvlib: Hay and Davies 1980 for the sky, Duffie and Beckman 2.16 for the ground; Snell and Fresnel without
    absorption for the beam through the glass, a fixed share for the rest.
    """
    from pvlib.iam import physical
    from pvlib.irradiance import aoi, get_total_irradiance

    ghi, dni, dhi = (figures[name].reshape(-1, HOURS) for name in ("ghi", "dni", "dhi"))
    parts = get_total_irradiance(
        plane.tilt_deg, plane.azimuth_deg, sun.zenith, sun.azimuth, dni, ghi, dhi, dni_extra=sun.beyond_air,
        albedo=plane.ground, model="haydavies",
    )  # fmt: skip
    total = np.maximum(parts["poa_global"], 0.0)
    beam = np.maximum(parts["poa_direct"], 0.0)
    angle = aoi(plane.tilt_deg, plane.azimuth_deg, sun.zenith, sun.azimuth)
    through = physical(angle, n=GLASS, K=0.0)
    return PlaneLight(total, beam * through + SKY_THROUGH_GLASS * (total - beam))


def month_hours(planes: Sequence[Plane], figures: Mapping[str, np.ndarray], sun: Sun) -> np.ndarray:
    """kWh/m2 a day of each month, a row for each plane."""
    from optimizer.weather.year import month_means

    return np.array([month_means(light_on(plane, figures, sun).plane) for plane in planes])
