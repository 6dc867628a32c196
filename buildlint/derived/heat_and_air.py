"""Oil and air between the bench and the event."""

from __future__ import annotations

from buildlint.known import known
from buildlint.physics import gas
from buildlint.physics import oil as liquid
from buildlint.plans import moves, since_bench


@since_bench
@moves(up="temperature", down="bench_temperature", away="oil_volume expansion")
def growth(
    oil_volume: float, expansion: float, temperature: float, bench_temperature: float
) -> float:
    """Growth of the oil since the bench, net of the metal body (m^3)."""
    return known(liquid.growth(oil_volume, temperature - bench_temperature, expansion))


@moves(down="altitude")
def pressure(altitude: float) -> float:
    """Outside air at the condition (Pa)."""
    return known(gas.standard_pressure(altitude))


@moves(down="bench_altitude")
def bench_pressure(bench_altitude: float) -> float:
    """Outside air at the bench (Pa)."""
    return known(gas.standard_pressure(bench_altitude))


@since_bench
@moves(up="temperature bench_pressure", down="bench_temperature pressure", away="air")
def air_change(
    air: float,
    cap: str,
    temperature: float,
    bench_temperature: float,
    pressure: float,
    bench_pressure: float,
) -> float:
    """Growth of the air left in the oil since the bench (m^3); a sealed cap keeps its pressure."""
    if cap == "sealed":
        pressure = bench_pressure
    return known(gas.air_change(air, bench_temperature, bench_pressure, temperature, pressure))
