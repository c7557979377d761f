"""The campaign: made-up, mutated and hostile case files, and builds that are killed."""
