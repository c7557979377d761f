"""Belief: sets of causes, evidence, roots, roles, what to do next, stops.  It knows no machine (see `protocol`)."""
