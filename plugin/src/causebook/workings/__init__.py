"""Worked examples: a block of inputs becomes a calculation with its terms, steps, result and source.

`model` says what a working is made of, `forms` how its inputs are written, `read` reads a block and makes the
calculation, `kinds` holds all of them by name; the other modules hold the calculations by subject.  Each one only
calls what `physics`, `knowledge` and `diagnosis` already know.
"""
