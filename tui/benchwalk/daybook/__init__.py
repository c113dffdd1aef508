"""The daybook: what a walk has to say, as lines of toned text, for whatever shows or prints it. No screen in here."""
