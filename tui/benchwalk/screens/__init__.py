"""The full-screen terminal: the bench, the walk, the shop's book. It reads state, sends acts, holds no truth."""

import os

# Before textual is loaded: whatever changed waits for the next tick of its clock, 16 ms apart if it is not asked.
os.environ.setdefault("TEXTUAL_FPS", "120")
