"""Machines, each with the models that weigh what was read on it."""
