"""How the parts fit, and when the damper was built."""

from __future__ import annotations

import numpy as np

from buildlint.physics.values import Values


def piston_clearance(bore: Values, piston_diameter: Values) -> Values:
    """Bore less the piston's diameter (m)."""
    return bore - piston_diameter


def shaft_room(bore: Values, shaft_diameter: Values) -> Values:
    """Bore less the shaft's diameter (m)."""
    return bore - shaft_diameter


def piston_to_spare(largest_piston: Values, piston_diameter: Values) -> Values:
    """Largest piston that the body takes, less the piston's diameter (m)."""
    return largest_piston - piston_diameter


def bladder_bore_off(bladder_bore: Values, bore: Values) -> Values:
    """Bore that the bladder is made for, less the body's (m)."""
    return bladder_bore - bore


def cap_over_body(bladder_into_cap: Values, bladder_into_body: Values) -> Values:
    """Room that the bladder gives into the cap over that into the body."""
    gives = bladder_into_body > 0.0
    nothing = np.where(bladder_into_cap + bladder_into_body >= 0.0, np.inf, np.nan)
    return np.where(gives, bladder_into_cap / bladder_into_body, nothing)


def days_before_event(bench_on: Values, event_on: Values) -> Values:
    """Days from the bench to the event (s)."""
    return (event_on - bench_on) * 86400.0


def hold_back_off_plan(hold_back: Values, planned_hold_back: Values) -> Values:
    """Hold-back less what was planned (m)."""
    return hold_back - planned_hold_back


def length_off_plan(length: Values, planned_length: Values) -> Values:
    """Length less what was planned (m)."""
    return length - planned_length


def rebound_off_plan(rebound: Values, planned_rebound: Values) -> Values:
    """Rebound less what was planned, as a share of the stroke."""
    return rebound - planned_rebound


def collar_off_plan(collar: Values, planned_collar: Values) -> Values:
    """Collar less what was planned (m)."""
    return collar - planned_collar
