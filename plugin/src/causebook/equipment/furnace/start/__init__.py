"""The start of a furnace, followed through its devices."""
