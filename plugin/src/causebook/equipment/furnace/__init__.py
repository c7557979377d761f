"""The warm-air furnace."""
