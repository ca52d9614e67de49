"""Whether a file's light fits the sun of its place by its clock: ghi is dhi and what the beam brings to the level."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from optimizer.vocabulary.problems import Fault
from optimizer.weather.header import Header, far_zone, zone_words
from optimizer.weather.rows import HOURS
from optimizer.weather.sun import DayArc

SHIFTS = np.arange(-12, 13) / 4  # h: three hours to each side in quarter hours
LEAST_SHIFT = 0.5  # h that a clock must be off to be refused
LEAST_MISFIT = 5.0  # W/m2, and twice the best: how far the clock as stated must fit worse (measured; no source)
PLACE_MISFIT = 10.0  # W/m2: right places come to 0.4 to 3.5, 5 deg of latitude off to 10 to 15 (measured; no source)


@dataclass(frozen=True)
class ClockFit:
    """How the light fits the sun: W/m2 of misfit (root mean square) as stated and at best, and how many h later the sun
    must be taken to be for the best."""

    stated: float
    best: float
    shift_h: float

    @property
    def place_fits(self) -> bool:
        """Whether the sun of this place fits at some clock near the stated one."""
        return self.best <= PLACE_MISFIT

    @property
    def clock_fits(self) -> bool:
        """Whether the stated clock is right, as far as the light can tell."""
        return abs(self.shift_h) < LEAST_SHIFT or self.stated <= LEAST_MISFIT + 2 * self.best


def clock_fit(header: Header, figures: Mapping[str, np.ndarray]) -> ClockFit:
    """The fit of a file's light; hours that are not known count as none."""
    ghi, dni, dhi = (figures[name].reshape(-1, HOURS) for name in ("ghi", "dni", "dhi"))
    arc = DayArc.over(header.latitude, header.longitude, header.utc_offset_h)
    known = np.isfinite(ghi) & np.isfinite(dni) & np.isfinite(dhi)
    beam, level, count = np.where(known, dni, 0.0), np.where(known, ghi - dhi, 0.0), max(int(known.sum()), 1)
    # the mean of squares over all hours, written out, needs no pass through all years for each shift
    square, cross, constant = (beam**2).sum(axis=0), (beam * level).sum(axis=0), float((level**2).sum())
    misfits = []
    for shift in SHIFTS:
        cos = arc.cos_zenith(header.instant_h, float(shift))
        total = constant - 2 * float(cross @ cos) + float(square @ cos**2)
        misfits.append(float(np.sqrt(max(total, 0.0) / count)))
    best = int(np.argmin(misfits))
    return ClockFit(misfits[len(SHIFTS) // 2], misfits[best], float(SHIFTS[best]))


def judge(header: Header, figures: Mapping[str, np.ndarray]) -> tuple[Fault | None, float | None]:
    """What is wrong with a file's clock or place, which is refused and never guessed; and the zone by which its light
    fits, None where there is none."""
    fit = clock_fit(header, figures)
    if not fit.place_fits:
        in_utc = clock_fit(replace(header, utc_offset_h=0.0), figures)
        if in_utc.place_fits and in_utc.clock_fits:  # the rows do not keep the zone that is stated above them
            return _off(header, replace(in_utc, stated=fit.stated, shift_h=header.utc_offset_h), 0.0), 0.0
        return _elsewhere(header, figures, fit), None
    if fit.clock_fits:
        return None, header.utc_offset_h
    if far_zone(header.utc_offset_h, header.longitude):
        return _elsewhere(header, figures, fit), None
    right = header.utc_offset_h - fit.shift_h
    return _off(header, fit, right), right


def _off(header: Header, fit: ClockFit, offset_h: float) -> Fault:
    return Fault("weather-clock", {
        "stated": zone_words(header.utc_offset_h), "shift": f"{abs(fit.shift_h):g}", "misfit": f"{fit.stated:.1f}",
        "best": f"{fit.best:.1f}", "offset": f"{offset_h:g}",
    })  # fmt: skip


def _elsewhere(header: Header, figures: Mapping[str, np.ndarray], fit: ClockFit) -> Fault:
    """The refusal of a place, with the sign that was tried and fits."""
    tried = {
        f"latitude {-header.latitude:g}": replace(header, latitude=-header.latitude),
        f"longitude {-header.longitude:g}": replace(header, longitude=-header.longitude),
        f"a zone of {-header.utc_offset_h:g} h": replace(header, utc_offset_h=-header.utc_offset_h),
    }
    fits = {words: clock_fit(each, figures) for words, each in tried.items()}
    right = [words for words, each in fits.items() if each.place_fits and each.clock_fits]
    perhaps = f"; tried with {' or '.join(right)}, the light fits: correct it in the file" if right else (
        ": check latitude, longitude and zone where the file states them")  # fmt: skip
    return Fault("weather-place", {
        "expected": f"light that fits the sun at latitude {header.latitude:g}, longitude {header.longitude:g}, "
        f"UTC{zone_words(header.utc_offset_h)}, to {PLACE_MISFIT:g} W/m2",
        "found": f"as stated it is {fit.stated:.1f} W/m2 off, and by the best clock near it {fit.best:.1f}",
        "perhaps": perhaps,
    })  # fmt: skip
