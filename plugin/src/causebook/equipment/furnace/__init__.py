"""The forced-air gas furnace: its heat-and-air model and its start."""
