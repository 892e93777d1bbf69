"""The formulas of the engineering crate once more, in Python, to hold the Rust against.

Not independent in substance, since a rule or a table is the same wherever it is written down: the
steps of order-wall, the limits of wall-limits, the rows of the live-load tables (and that E-80 ends
at 32 ft), the time and the start pressure of the air test, the altitude factor's two constants, and
the one-line definitions (stretch, shares of a limit, exfiltration). There the twin finds slips of
typing and of units only.
"""


class Refused(Exception):
    """The formula does not take these inputs."""
