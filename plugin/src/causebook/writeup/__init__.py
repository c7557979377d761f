"""From a workup to what people read: pages, charts, photos, plain text for a terminal, and JSON for programs."""
