"""How much the properties try: a little every day, more where CI is set; how wide reports are."""

from __future__ import annotations

import os

from hypothesis import settings

# reports are as wide as this says
os.environ["COLUMNS"] = "80"

settings.register_profile("everyday", max_examples=20, deadline=None)
settings.register_profile("ci", max_examples=100, deadline=None)
settings.load_profile("ci" if os.environ.get("CI") else "everyday")
