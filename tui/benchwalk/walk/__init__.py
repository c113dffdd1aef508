"""The walk: what can happen to a job, and what a job is after it happened. Pure; no disk, clock or chance."""
