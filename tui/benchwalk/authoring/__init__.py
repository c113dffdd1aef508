"""Writing procedures: read aloud, names offered, faults mended, steps renamed, all as plain text and edits of text."""
