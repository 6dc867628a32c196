"""Makes rules of limits in SI, for tests that judge by one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from buildlint.files.amounts import in_unit
from buildlint.judging.asks import Ask, BandAsk
from buildlint.judging.rule import Rule
from buildlint.measures import MEASURES

__all__ = ["rule_of"]


def rule_of(
    measure: str, ask: Ask | None = None, by: str = "", bands: Sequence[BandAsk] = (), **more: Any
) -> Rule:
    """Return a rule that asks a limit in SI of a measure, or of its bands; a should unless said."""
    raw: dict[str, Any] = {"id": "a/rule", "level": "should", "measure": measure, **more}
    raw = {**dict.fromkeys(("title", "source", "why", "cure"), "x"), **raw}
    if bands:
        tables = [_written(band.ask, measure) for band in bands]
        for table, band in zip(tables, bands, strict=True):
            if band.up_to is not None:
                table["up_to"] = _limit(band.up_to, by)
        return Rule.model_validate({**raw, "by": by, "bands": tables})
    if ask is None:
        return Rule.model_construct(**raw)
    return Rule.model_validate({**raw, **_written(ask, measure)})


def _written(ask: Ask, measure: str) -> dict[str, Any]:
    """Return a limit as a rule's file writes it: by its texts, where it has some."""
    for key, text in ask.texts.items():
        if key in ("at_most", "at_least", "same_within"):
            return {key: text}
        if key == "between":
            return {key: text.split(" and ")}
    if ask.is_true:
        return {"is": True}
    if ask.one_of:
        return {"one_of": list(ask.one_of)}
    if ask.exactly:
        return {"same_within": "exactly"}
    if ask.same_within is not None:
        share = f"{ask.same_within * 100.0!r} %"
        return {"same_within": share if ask.relative else _limit(ask.same_within, measure)}
    found = {
        key: _limit(value, measure)
        for key, value in (("at_least", ask.at_least), ("at_most", ask.at_most))
        if value is not None
    }
    return {"between": list(found.values())} if len(found) == 2 else found


def _limit(value: float, measure: str) -> str:
    unit = MEASURES[measure].unit
    return repr(value) if unit in ("1", "step") else f"{in_unit(value, unit):.15g} {unit}"
