"""A market run: which batches, when, from which packs."""
