"""Sides that are alike in what a measure stands on."""

from __future__ import annotations

from dataclasses import replace

from buildlint.alike import alike, all_alike
from buildlint.measures import MEASURES
from buildlint.origin import Origin
from tests.making import BENCH, sides
from tests.sheet_damper import damper


def test_sides_are_alike_where_reading_tolerance_and_place_are_the_same():
    left, right = sides(damper(spread={"bore": (15.9e-3, 16.1e-3)}))
    measure = MEASURES["damping"]
    assert alike(measure, left, right)
    assert not alike(measure, left, replace(right, bore=17e-3))
    assert not alike(measure, left, replace(right, spread={}))
    elsewhere = {**right.origin, "bore": Origin(BENCH, ("front", "right", "bore"))}
    assert not alike(measure, left, replace(right, origin=elsewhere))
    # what the measure does not stand on may differ
    assert alike(measure, left, replace(right, length=0.1))


def test_all_four_are_alike_only_when_none_differs():
    left, right = sides(damper())
    assert all_alike(MEASURES["damping"], [left, right, left, right])
    assert not all_alike(MEASURES["damping"], [left, right, left, replace(right, bore=17e-3)])


def test_the_second_of_several_is_asked_too_whether_it_is_alike():
    left, right = sides(damper())
    wider = replace(right, bore=17e-3)
    assert not all_alike(MEASURES["damping"], [left, wider, left, right])
    assert not all_alike(MEASURES["damping"], [left, wider])
