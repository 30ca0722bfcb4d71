"""For every test: an example may take its time, since a busy or slow machine is no fault."""

from __future__ import annotations

from hypothesis import settings

# upon what is set already: where CI is set, the same examples each time
settings.register_profile("any machine", settings(), deadline=None)
settings.load_profile("any machine")
