"""The practice drum: a simulated two-headed drum to turn, press and tap. No screen, disk or clock; chance is a seed.

`drum.Drum` is the whole of it; `docs/practice-drum.md` says what the model has and lacks. numpy and scipy load when a
drum is made, not before.
"""
