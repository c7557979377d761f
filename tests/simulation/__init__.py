"""Simulated calls: an invented world that knows nothing of the diagnosis, to see how often its answers are right.

A world has its own physics (`world`), its own faults with their own sizes and frequencies (`faults`), its own idea of
what a repair restores (`calls`), and technicians who read, misread and leave out (`visit`, `visits`).  None of its
numbers is taken from the knowledge of the core: medians, spreads, exponents, fan shapes and the chances of seeing
things differ on purpose, as a real town differs from what the trade believes of it.  There are two (`worlds`): calls
for the high limit, and those where the fire does not start, does not stay or burns foul (the modules named `start`).
In the second faults bring one another, the call is filed by whoever takes it, technicians tire and stop where there is
danger, and much is read that no rule uses; `start_judge` says which answers the record itself disproves.

    python -m tests.simulation.evaluate --cases 600 --seed 1            # from the project's root
    python -m tests.simulation.evaluate --cases 300 --seed 2 --game     # with the next-test game
    python -m tests.simulation.evaluate --cases 600 --world start       # the other world
"""
