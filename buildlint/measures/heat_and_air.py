"""Oil and air between the bench and the event."""

from __future__ import annotations

import numpy as np

from buildlint.measures.marks import SEALED, refuses, since_bench
from buildlint.physics import gas
from buildlint.physics import oil as liquid
from buildlint.physics.values import Values


@since_bench
def growth(
    oil_volume: Values, expansion: Values, temperature: Values, bench_temperature: Values
) -> Values:
    """Growth of the oil since the bench, net of the metal body (m^3)."""
    return liquid.growth(oil_volume, temperature - bench_temperature, expansion)


@refuses(
    lambda altitude: ~((altitude >= -500.0) & (altitude <= 11000.0)) & ~np.isnan(altitude),
    "the altitude is not between -500 and 11000 m",
)
def pressure(altitude: Values) -> Values:
    """Outside air at the condition (Pa)."""
    return gas.standard_pressure(altitude)


def bench_pressure(bench_altitude: Values) -> Values:
    """Outside air at the bench (Pa)."""
    return gas.standard_pressure(bench_altitude)


@since_bench
def air_change(
    air: Values,
    cap: Values,
    temperature: Values,
    bench_temperature: Values,
    pressure: Values,
    bench_pressure: Values,
) -> Values:
    """Growth of the air left in the oil since the bench (m^3); a sealed cap keeps its pressure."""
    there = np.where(cap == SEALED, bench_pressure, pressure)
    return gas.air_change(air, bench_temperature, bench_pressure, temperature, there)
