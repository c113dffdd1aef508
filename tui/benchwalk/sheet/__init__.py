"""The printed sheet: a procedure to be followed and filled in by hand on the day the computer is off."""
