"""One file a thing the grower does: gather, decide in the model, keep the answer."""
