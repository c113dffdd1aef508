"""A shop on disk: the log of each job, who may write it, people and their PINs, approvals, and the audit of it all."""
