"""Two bottles mixed in whole tenths, for an end that no oil of the parts files suits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from math import expm1
from typing import Any

import numpy as np

from buildlint.files.oil_model import Oil
from buildlint.judging.adapt_end import EndSearch

__all__ = ["Blend", "nearest_blend"]

# So many bottles that are too thin are tried with so many that are too thick.
_MOST_BOTTLES = 4


@dataclass(frozen=True, slots=True)
class Blend:
    """Two oils mixed in whole tenths of the volume, with the piston as it is now.

    `cold` and `hot` are the damping there over that at the build's own event, less one; `error` is
    the greater |ln| of both.
    """

    oils: tuple[str, str]
    tenths: tuple[int, int]
    cold: float
    hot: float
    error: float


def nearest_blend(search: EndSearch) -> Blend | None:
    """Return the blend of two oils that comes nearest; None where no two lie on either side."""
    every = {f"blend {n}": each for n, each in enumerate(_blends(search))}
    if not every:
        return None
    tables: dict[str, Any] = {
        ident: {"blend": {oil: f"{10 * tenths} %" for oil, tenths in each}}
        for ident, each in every.items()
    }
    # mixed as one in a parts file would be
    team = search.team.with_files({"blends to try.parts.toml": {"oil": tables}})
    mixed = replace(search, team=team)
    batch = mixed.tries.with_parts(("oil",), [(ident,) for ident in every])
    logs = mixed.against_now(batch, "damping")
    errors = np.where(np.isnan(logs), np.inf, np.abs(logs)).max(axis=0)
    best = int(np.argmin(errors))
    if not np.isfinite(errors[best]):
        return None
    (one, some), (other, rest) = list(every.values())[best]
    cold, hot = (expm1(float(each)) for each in logs[:, best])
    return Blend((one, other), (some, rest), cold, hot, float(errors[best]))


def _blends(search: EndSearch) -> Iterator[tuple[tuple[str, int], tuple[str, int]]]:
    """Yield oils of the parts files that are no blends, one too thin with one too thick."""
    known = search.team.parts()["oil"]
    bottles = [
        pair
        for pair in search.pairs
        if pair.piston == search.now["piston"]
        if isinstance(table := known[pair.oil].table, Oil) and not table.blend
    ]
    thin = sorted((p for p in bottles if p.cold + p.hot < 0.0), key=lambda p: p.error)
    thick = sorted((p for p in bottles if p.cold + p.hot >= 0.0), key=lambda p: p.error)
    for one, other in product(thin[:_MOST_BOTTLES], thick[:_MOST_BOTTLES]):
        for tenths in range(1, 10):
            yield (one.oil, tenths), (other.oil, 10 - tenths)
