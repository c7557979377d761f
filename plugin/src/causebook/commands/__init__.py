"""Commands, one a module: `add` names its options to the parser, `run` does it.

What a command needs is imported when it runs, so that asking for help or the version waits for nothing.
"""
