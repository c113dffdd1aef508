"""Sums about whether a snare set fits a drum, and which of its cords to move."""

from __future__ import annotations

from .kinds import PRACTICE, TENTH, ZERO, Input, Output, Signature

SUMS: tuple[Signature, ...] = (
    Signature(
        "snare-fit",
        1,
        (
            Input("clear", "number", "mm", about="clear length between the two gates"),
            Input("set", "number", "mm", about="length of the snare set over its end plates"),
            Input("strands", "number", "", about="how many strands the set has, the missing ones counted in"),
            Input("plate", "number", "mm", about="width of an end plate, the wider of the two"),
            Input("gate", "number", "mm", about="width of a gate in the hoop, the narrower of the two"),
            Input("bed", "number", "mm", optional=True, about="width of a snare bed, the narrower of the two; else the "
                  "beds are not judged"),
            Input("missing", "number", "", optional=True, about="strands that are missing, bent or stretched; else "
                  "none"),
            Input("least", "number", "mm", optional=True, about="the least room for both gaps together; else 4 mm"),
            Input("most", "number", "mm", optional=True, about="the most room for both gaps together; else a short set "
                  "is not told"),
            Input("beside", "number", "mm", optional=True, about="the least room at each edge of the plate in the "
                  "gate; else 1 mm"),
            Input("most_missing", "number", "", optional=True, about="how many strands may be missing or bent; else "
                  "2"),
        ),
        (
            Output("fits", "choice", choices=("fits", "long", "short", "wide", "worn"), said="the set", about="fits; "
                   "or the first of these that holds: too long or too short from gate to gate, too wide for the gate "
                   "or the bed, worn beyond snipping"),
            Output("room", "number", "mm", TENTH, said="room for both gaps", about="R, the clear length less the set; "
                   "below zero where the set is longer than the drum is clear"),
            Output("spacer", "number", "mm", TENTH, said="a spacer for each end", about="half of R, the gap at each "
                   "end with the set in the middle"),
            Output("side", "number", "mm", TENTH, said="room at each edge of the plate", about="room between plate and "
                   "gate at each edge, the plate in the middle; below zero where the plate is the wider"),
            Output("narrow", "choice", choices=("none", "gate", "bed", "both"), said="too narrow for the set",
                   about="what is too narrow for the plate; a bed may be as narrow as the plate and no narrower"),
            Output("sound", "number", "", low=ZERO, said="strands left", about="strands left once each bad one and "
                   "the one that mirrors it are snipped, where no two of the bad ones mirror each other"),
        ),
        "when a length or a width is not above zero, when strands are not a whole number of one or more, when those "
        "missing are no whole number from none to all, or when a limit is below zero or the most room below the least",
        PRACTICE,
        "Whether a snare set fits this drum: long, wide and sound enough",
    ),
    Signature(
        "cord-move",
        1,
        (
            Input("butt", "number", "mm", about="gap from plate to hoop, butt side, lever on, at working tension"),
            Input("strainer", "number", "mm", about="gap from plate to hoop, strainer side, lever on, at working "
                  "tension"),
            Input("wanted", "range", "mm", about="the gap wanted on each side"),
            Input("knob", "number", "turns", about="turns of the knob from loosest to where it works"),
            Input("knob_total", "number", "turns", about="turns of the knob from loosest to tightest"),
            Input("a_turn", "number", "mm", optional=True, about="cord that one turn of the knob takes up; else the "
                  "strainer cord gets no length, and what a move of the butt does to the knob is not foreseen"),
        ),
        (
            Output("cord", "choice", choices=("none", "butt", "strainer", "both"), said="cord to tie anew",
                   about="which cord to tie anew: the butt cord alone says where the set lies, the strainer cord where "
                   "the knob works"),
            Output("shorten", "number", "mm", TENTH, may_be_missing=True, said="that cord shorter by",
                   about="how much shorter that cord has to be, of both the butt cord; below zero: let it out; zero "
                   "where none is to be tied anew, none for the strainer cord without what a turn takes up"),
            Output("strainer_shorten", "number", "mm", TENTH, may_be_missing=True, said="strainer cord shorter by",
                   about="how much shorter the strainer cord has to be so that the knob works in its middle; below "
                   "zero: let it out; none where that cord may stay, or without what a turn takes up"),
            Output("take_up", "number", "turns", low=ZERO, said="turns left to tighten", about="turns the knob has "
                   "left towards tight"),
            Output("let_out", "number", "turns", low=ZERO, said="turns left to loosen", about="turns the knob has left "
                   "towards loose"),
            Output("travel", "choice", choices=("both-ways", "near-tight", "near-loose"), said="travel of the knob",
                   about="both ways from a third to two thirds of all its turns, both ends counted in; above that near "
                   "tight, below it near loose"),
        ),
        "when the knob's turns are below zero or more than all its turns, when all its turns or what a turn takes up "
        "are not above zero, or when both gaps alike would still not be the gap wanted, so that no cord cures it",
        PRACTICE,
        "Which snare cord to tie anew, how far, and what travel the knob has left",
    ),
)  # fmt: skip
