"""What the wheel feels of a damper and spring.

The motion ratio is damper travel over wheel travel (some texts print the inverse): below one when
the damper moves less than the wheel.
"""

import math

from buildlint.physics._checks import finite, not_negative, positive

STANDARD_GRAVITY = 9.80665
"""Standard gravity, m/s^2: exact, 3rd General Conference on Weights and Measures, 1901."""


def wheel_rate(rate: float, motion_ratio: float) -> float:
    """Rate of a spring as the wheel feels it, N/m.

    `rate` of the spring in N/m and `motion_ratio` (damper travel over wheel travel), above zero.
    Raises ValueError otherwise.
    Source: derived: k MR^2, from equal work.

    >>> round(wheel_rate(850.0, 0.65), 3)
    359.125
    """
    positive("rate", rate)
    positive("motion ratio", motion_ratio)
    return rate * motion_ratio * motion_ratio


def wheel_damping(damping: float, motion_ratio: float) -> float:
    """Damping as the wheel feels it, N s/m.

    `damping` of the damper in N s/m, zero or above; `motion_ratio` (damper travel over wheel
    travel), above zero. Raises ValueError otherwise.
    Source: derived: c MR^2, from equal work.

    >>> round(wheel_damping(45.959, 0.65), 4)  # 0.4225 of it
    19.4177
    """
    not_negative("damping", damping)
    positive("motion ratio", motion_ratio)
    return damping * motion_ratio * motion_ratio


def critical_damping(rate: float, mass: float) -> float:
    """Least damping at which a mass on a spring does not swing, N s/m.

    `rate` in N/m and `mass` in kg, above zero, both at the same place: with the wheel rate, the
    mass that the wheel carries. Raises ValueError otherwise.
    Source: Rao, Mechanical Vibrations: 2 sqrt(k m).

    >>> round(critical_damping(359.125, 0.8), 1)
    33.9
    """
    positive("rate", rate)
    positive("mass", mass)
    return 2.0 * math.sqrt(rate * mass)


def damping_ratio(damping: float, rate: float, mass: float, motion_ratio: float) -> float:
    """Damping at the wheel over the critical, a plain number.

    `damping` of the damper in N s/m, zero or above; `rate` of the spring in N/m, `mass` that the
    wheel carries in kg and `motion_ratio` (damper travel over wheel travel), above zero. Raises
    ValueError otherwise.
    Source: derived: c MR^2 / (2 sqrt(k MR^2 m)).

    >>> round(damping_ratio(45.959, 850.0, 0.8, 0.65), 4)
    0.5728
    """
    critical = critical_damping(wheel_rate(rate, motion_ratio), mass)
    return wheel_damping(damping, motion_ratio) / critical


def natural_frequency(rate: float, mass: float) -> float:
    """Undamped frequency of a mass on a spring, Hz.

    `rate` in N/m and `mass` in kg, above zero, both at the same place: with the wheel rate, the
    mass that the wheel carries. Raises ValueError otherwise.
    Source: Rao, Mechanical Vibrations: sqrt(k/m) / (2 pi).

    >>> round(natural_frequency(359.125, 0.8), 3)
    3.372
    """
    positive("rate", rate)
    positive("mass", mass)
    return math.sqrt(rate / mass) / (2.0 * math.pi)


def sag(mass: float, rate: float, motion_ratio: float, preload: float) -> float:
    """Shaft travel from fully out to where a mass at rest holds the damper, m.

    `mass` that the wheel carries in kg, `rate` of the spring in N/m and `motion_ratio` (damper
    travel over wheel travel), above zero; `preload`, how far the spring is pressed in fully out, in
    m, below zero where it has play. Below zero: the mass does not overcome the preload, the damper
    stays fully out. Raises ValueError for what cannot be.
    Source: derived: the weight m g / MR at the damper is k (preload + sag), Hooke.

    >>> round(sag(0.8, 850.0, 0.65, 0.005) * 1e3, 3)  # 7.84532 N / 552.5 N/m = 14.2 mm, less 5
    9.2
    """
    positive("mass", mass)
    positive("rate", rate)
    positive("motion ratio", motion_ratio)
    finite("preload", preload)
    return mass * STANDARD_GRAVITY / (rate * motion_ratio) - preload
