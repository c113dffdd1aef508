"""The full-screen terminal: the bench, the walk, the shop's book. It reads state, sends acts, holds no truth."""
