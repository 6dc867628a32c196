"""How much the properties try: a little every day, more where CI is set; how wide reports are."""

from __future__ import annotations

import os
import signal

from hypothesis import settings

# reports are as wide as this says
os.environ["COLUMNS"] = "80"

settings.register_profile("everyday", max_examples=20, deadline=None)
settings.register_profile("ci", max_examples=100, deadline=None)
settings.load_profile("ci" if os.environ.get("CI") else "everyday")

# a shell in the background leaves these ignored, and what the tests start would have it so
for name in ("SIGINT", "SIGQUIT"):
    number = getattr(signal, name, None)
    if number is not None and signal.getsignal(number) == signal.SIG_IGN:
        signal.signal(number, signal.default_int_handler)
