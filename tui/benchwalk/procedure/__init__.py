"""A procedure: from text to positioned tree, to typed model, to settled names. Pure."""
