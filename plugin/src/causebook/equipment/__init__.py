"""Machines: what the physics of each says of sets of causes, behind the protocol of `belief`."""
