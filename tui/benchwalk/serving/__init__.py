"""The full screens in a browser on this machine: one address with a token in it, one process a browser tab."""
