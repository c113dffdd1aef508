"""The walk line by line, on stdin and stdout: for screen readers, pipes and paper. The same acts, the same record."""
