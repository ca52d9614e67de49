"""Pumping: head, pipe friction, power and work (m of water, L/h, kPa, W, kWh).

Density and gravity are rounded as the published pumping constants have them (0.002725 kWh for each m3 and m of head,
kW = L/s x m / 102): with standard gravity everything would be 0.03 % less.
"""

from __future__ import annotations

DENSITY_KG_PER_M3 = 1000.0  # water
GRAVITY_M_PER_S2 = 9.81
SECONDS_PER_HOUR = 3600.0
LITRES_PER_M3 = 1000.0
WS_PER_KWH = 3.6e6

# Hazen-Williams in m and m3/s. The inch and foot forms (4.52 psi, 4.727 ft) are roundings of the same relation.
HAZEN_WILLIAMS = 10.67
FLOW_EXPONENT = 1.852
DIAMETER_EXPONENT = 4.8704


def container_flow(litres: float, seconds: float) -> float:
    """Flow in L/h that fills a container of ``litres`` in ``seconds``."""
    return litres * SECONDS_PER_HOUR / seconds


def m3_per_second(flow_l_per_h: float) -> float:
    """A flow in L/h as m3/s."""
    return flow_l_per_h / (LITRES_PER_M3 * SECONDS_PER_HOUR)


def pressure_head(kpa: float) -> float:
    """Height in m of the column of water that stands for a pressure: p / (density x gravity), 2.31 ft for each psi."""
    return kpa * 1000 / (DENSITY_KG_PER_M3 * GRAVITY_M_PER_S2)


def pipe_friction(length_m: float, inside_m: float, flow_l_per_h: float, roughness: float) -> float:
    """Head in m lost in a pipe, by Hazen-Williams: 10.67 L Q^1.852 / (C^1.852 d^4.8704).

    ``roughness`` is C, greater for smoother pipe; for water at ordinary temperature. Fittings are not counted.
    """
    flow = m3_per_second(flow_l_per_h)
    return float(HAZEN_WILLIAMS * length_m * (flow / roughness) ** FLOW_EXPONENT / inside_m**DIAMETER_EXPONENT)


def total_dynamic_head(level_m: float, rise_m: float, pressure_m: float, friction_m: float) -> float:
    """Total dynamic head in m: from the pumping level (not the level at rest) to the outlet, with what pressure and
    friction add; the velocity head is left out, it is small (common practice, no source).
    """
    return level_m + rise_m + pressure_m + friction_m


def hydraulic_power(flow_l_per_h: float, head_m: float) -> float:
    """W that the water takes up: density x gravity x Q x H; in hp it is the water horsepower, gpm x ft / 3960."""
    return DENSITY_KG_PER_M3 * GRAVITY_M_PER_S2 * m3_per_second(flow_l_per_h) * head_m


def electric_power(flow_l_per_h: float, head_m: float, pump_efficiency: float, motor_efficiency: float) -> float:
    """W that the motor takes: hydraulic power over the efficiencies of pump and motor (shares)."""
    return hydraulic_power(flow_l_per_h, head_m) / (pump_efficiency * motor_efficiency)


def work_per_m3(head_m: float, efficiency: float) -> float:
    """kWh for each m3 pumped: 0.002725 H / efficiency, wire to water (a share)."""
    return DENSITY_KG_PER_M3 * GRAVITY_M_PER_S2 * head_m / WS_PER_KWH / efficiency
