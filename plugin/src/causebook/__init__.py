"""Causebook: worked cases from a heating company's case files.

The core (everything from `quantity` up to `workup`) runs without MkDocs: `causebook.workup.work_up(case)`
is its one door.  `causebook.site` puts its results on a MkDocs site, `causebook.cli` in a terminal.
"""
