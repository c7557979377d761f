"""From a verdict to options: what the correction must be, and whether it will hold."""
