"""What the wheel feels of a damper and spring.

The motion ratio is damper travel over wheel travel (some texts print the inverse): below one when
the damper moves less than the wheel.
"""

import math

import numpy as np

from buildlint.physics.values import Values, finite, formula, not_negative, positive, within

STANDARD_GRAVITY = 9.80665
"""Standard gravity, m/s^2: exact, 3rd General Conference on Weights and Measures, 1901."""


@formula
def wheel_rate(rate: Values, motion_ratio: Values) -> Values:
    """Return the rate of a spring as the wheel feels it, N/m.

    `rate` of the spring in N/m and `motion_ratio` (damper travel over wheel travel), above zero.
    Return nan outside that.
    Source: derived: k MR^2, from equal work.

    >>> round(wheel_rate(850.0, 0.65), 3)
    359.125
    """
    return within(positive(rate, motion_ratio), rate * motion_ratio * motion_ratio)


@formula
def wheel_damping(damping: Values, motion_ratio: Values) -> Values:
    """Return the damping as the wheel feels it, N s/m.

    `damping` of the damper in N s/m, zero or above; `motion_ratio` (damper travel over wheel
    travel), above zero. Return nan outside that.
    Source: derived: c MR^2, from equal work.

    >>> round(wheel_damping(45.959, 0.65), 4)  # 0.4225 of it
    19.4177
    """
    ok = not_negative(damping) & positive(motion_ratio)
    return within(ok, damping * motion_ratio * motion_ratio)


@formula
def critical_damping(rate: Values, mass: Values) -> Values:
    """Return the least damping at which a mass on a spring does not swing, N s/m.

    `rate` in N/m and `mass` in kg, above zero, both at the same place: with the wheel rate, the
    mass that the wheel carries. Return nan outside that.
    Source: Rao, Mechanical Vibrations: 2 sqrt(k m).

    >>> round(critical_damping(359.125, 0.8), 1)
    33.9
    """
    return within(positive(rate, mass), 2.0 * np.sqrt(rate * mass))


@formula
def damping_ratio(damping: Values, rate: Values, mass: Values, motion_ratio: Values) -> Values:
    """Return the damping at the wheel over the critical, a plain number.

    `damping` of the damper in N s/m, zero or above; `rate` of the spring in N/m, `mass` that the
    wheel carries in kg and `motion_ratio` (damper travel over wheel travel), above zero. Return
    nan outside that.
    Source: derived: c MR^2 / (2 sqrt(k MR^2 m)).

    >>> round(damping_ratio(45.959, 850.0, 0.8, 0.65), 4)
    0.5728
    """
    critical = critical_damping(wheel_rate(rate, motion_ratio), mass)
    return np.divide(wheel_damping(damping, motion_ratio), critical)


@formula
def natural_frequency(rate: Values, mass: Values) -> Values:
    """Return the undamped frequency of a mass on a spring, Hz.

    `rate` in N/m and `mass` in kg, above zero, both at the same place: with the wheel rate, the
    mass that the wheel carries. Return nan outside that.
    Source: Rao, Mechanical Vibrations: sqrt(k/m) / (2 pi).

    >>> round(natural_frequency(359.125, 0.8), 3)
    3.372
    """
    return within(positive(rate, mass), np.sqrt(rate / mass) / (2.0 * math.pi))


@formula
def sag(mass: Values, rate: Values, motion_ratio: Values, preload: Values) -> Values:
    """Return the shaft travel from fully out to where a mass at rest holds the damper, m.

    `mass` that the wheel carries in kg, `rate` of the spring in N/m and `motion_ratio` (damper
    travel over wheel travel), above zero; `preload`, how far the spring is pressed in fully out, in
    m, below zero where it has play. Below zero: the mass does not overcome the preload, the damper
    stays fully out. Return nan outside that.
    Source: derived: the weight m g / MR at the damper is k (preload + sag), Hooke.

    >>> round(sag(0.8, 850.0, 0.65, 0.005) * 1e3, 3)  # 7.84532 N / 552.5 N/m = 14.2 mm, less 5
    9.2
    """
    ok = positive(mass, rate, motion_ratio) & finite(preload)
    return within(ok, mass * STANDARD_GRAVITY / (rate * motion_ratio) - preload)
