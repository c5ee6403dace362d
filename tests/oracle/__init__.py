"""An independent search that decides whether a plan holds, to test the verdicts of the library.

Nothing here imports the library. The modules implement the definitions of ``schema/README.md`` a
second time, as literally as possible, from the plain JSON of a plan. To check the reasoning, read
them in this order:

- ``heads``: the arms that hold trains, and their spots.
- ``elements``: ways through points, crossings and turntables; groups that one lever works.
- ``sections``: tracks cut into pieces at heads, joined into sections; stands.
- ``ground``: moves from place to place, and the routes of each head.
- ``guards``: the trap groups that guard.
- ``conflicts``: pairs of routes that exclude each other.
- ``game``: the rules for one train, and its claims, which bar others.
- ``search``: breadth-first search over all states of two or three trains.

The other modules draw random plans (``plans``, ``stations``, ``shapes``), put signals and flaws
into them (``signalling``, ``practice``, ``flaws``) and replay the library's counterexamples
(``two_trains``, ``three_trains``).
"""
