"""Everything that a key can do, once: its name, keys, label and help. Bindings, footer, help, palette, the key page and
the user's keymap are all made from this list; no screen names a key of its own."""

from __future__ import annotations

from dataclasses import dataclass

EVERYWHERE, BENCH, WALK, BOOK, PAGES, ROUTE, ASK = "everywhere", "bench", "walk", "book", "pages", "route", "ask"
WRITE, PROCEDURES, PEOPLE, INTAKE, RECORD = "write", "procedures", "people", "intake", "record"
LEARNED, DRUM, LISTEN = "learned", "drum", "listen"

PLACES: dict[str, str] = {
    EVERYWHERE: "On every screen",
    BENCH: "At the bench",
    WALK: "In a walk",
    ROUTE: "Looking along the route",
    PAGES: "In the pages of a job",
    BOOK: "In the shop's book",
    RECORD: "In the pages of a job, out of the book",
    PROCEDURES: "Among the procedures",
    LEARNED: "In what the logs say of a procedure",
    WRITE: "Where a procedure is written",
    LISTEN: "Where taps are listened to",
    DRUM: "At the practice drum",
    PEOPLE: "Among the people",
    INTAKE: "Where a drum is taken in",
    ASK: "Where something is asked",
}
"""The screens that keys belong to, and how they are called."""


@dataclass(frozen=True)
class Action:
    """One thing a key can do.

    `id` is `place.verb` and is what a keymap file names; `keys` are the keys it has by default, the first of them
    shown; `label` is two or three words for the foot of the screen, `help` one sentence. `foot`: shown there at all.
    """

    id: str
    keys: tuple[str, ...]
    label: str
    help: str
    foot: bool = False

    @property
    def place(self) -> str:
        """The screen it belongs to."""
        return self.id.partition(".")[0]

    @property
    def verb(self) -> str:
        """The name of the method that does it, without `action_`."""
        return self.id.partition(".")[2]


def _moving(place: str, what: str) -> tuple[Action, ...]:
    """The keys that move in a list."""
    return (
        Action(f"{place}.up", ("up",), "Up", f"The {what} above."),
        Action(f"{place}.down", ("down",), "Down", f"The {what} below."),
        Action(f"{place}.page_up", ("pageup",), "Page up", "A screen up."),
        Action(f"{place}.page_down", ("pagedown",), "Page down", "A screen down."),
        Action(f"{place}.top", ("home",), "Top", f"The first {what}."),
        Action(f"{place}.end", ("end",), "End", f"The last {what}."),
    )


def _all() -> tuple[Action, ...]:
    a = Action
    return (
        # everywhere
        a("everywhere.help", ("f1", "question_mark"), "Help", "What the keys do here.", True),
        a("everywhere.commands", ("ctrl+p",), "Commands", "Find any command by typing a part of its name."),
        a("everywhere.look", ("f12",), "Look", "Another look: paper, walnut, or your terminal's own colours."),
        a("everywhere.copy", ("ctrl+c",), "Copy", "Copy what is selected. It never ends the program."),
        a("everywhere.quit", ("ctrl+q",), "Quit", "Leave the program. Work in hand is put down first."),
        # the walk: hands are wet and holding cord
        a("walk.next", ("enter",), "Done", "It is done, or note what was typed or chosen, and go on."),
        a(
            "walk.foot",
            ("pagedown",),
            "Next (foot)",
            "The same by foot switch; of two choices the wanted one.",
        ),
        a(
            "walk.not_yet",
            ("pageup",),
            "Not yet (foot)",
            "You do not see yet what you should; the other of two.",
        ),
        a("walk.yes", ("y",), "Yes", "Say yes on purpose: a hazard was read, every piece was counted."),
        a("walk.sign", ("s",), "Sign", "Somebody who looks here signs, by name and PIN."),
        a("walk.missing", ("m",), "Missing", "Say what is missing when tools and loose parts are counted."),
        a("walk.again", ("f8",), "Again", "Say this stop again with all its words, and why it is done.", True),
        a("walk.note", ("f2",), "Note", "Write a note into the job.", True),
        a("walk.fix", ("f3",), "Correct", "Correct something that was noted; the old value is kept.", True),
        a("walk.pages", ("f4",), "Pages", "What was found and done so far, as the job's pages have it.", True),
        a("walk.route", ("f5",), "Route", "Look along the route, ahead and back. It changes nothing.", True),
        a("walk.about", ("tab",), "This job", "What this job is: whose drum, which drum, what they complain of."),
        a("walk.happened", ("f6",), "It happened", "Something happened that the procedure foresees."),
        a("walk.problem", ("f7",), "Problem", "This step cannot be followed as it is written."),
        a("walk.more", ("f9",), "More", "Everything else that can be done here.", True),
        a(
            "walk.leave",
            ("f10",),
            "Put down",
            "Put the work down at once; later the drum is looked at again.",
            True,
        ),
        a("walk.leave_word", ("ctrl+y",), "Put down with a word", "Put the work down and say how the drum stands."),
        a("walk.back", ("ctrl+b",), "Go back", "Go back to an earlier stop; what was noted since no longer counts."),
        a("walk.hand_over", ("ctrl+g",), "Hand over", "Hand the work to another person, in writing."),
        a("walk.skip", ("ctrl+z",), "Skip", "Leave this step out, where the procedure allows it."),
        a("walk.leave_out", ("ctrl+n",), "Leave out", "Leave this reading out, where it may be."),
        a("walk.late", ("ctrl+l",), "Late entry", "Note a reading that was taken earlier, with the time it was taken."),
        a("walk.other_place", ("ctrl+r",), "Another place", "Note this reading at another place than the one asked."),
        a(
            "walk.other_branch",
            ("ctrl+o",),
            "Another branch",
            "Take another branch than the one that fits; signed.",
        ),
        a("walk.listen", ("ctrl+s",), "Hear it", "Hear the note by microphone, or on a practice job's own drum."),
        a("walk.newest", ("ctrl+t",), "Newest file", "Take the newest file of the shop's pictures or recordings."),
        a("walk.terse", ("f11",), "Fewer words", "Fewer words, or all of them again; the record is the same."),
        a("walk.way_out", ("b",), "Go back there", "Go back to the stop where a corrected value leads elsewhere."),
        a("walk.stand", ("l",), "Let it stand", "Let the walk stand as it went; a senior signs."),
        a("walk.jump", ("j",), "Jump", "Jump over the time (practice only)."),
        a("walk.report", ("r",), "Report", "Make a report of the finished job, for its owner or for the shop."),
        a("walk.up", ("up",), "Up", "The choice above, or scroll up."),
        a("walk.down", ("down",), "Down", "The choice below, or scroll down."),
        # looking along
        *_moving("route", "step"),
        a("route.more", ("enter",), "Read on", "More of what the marked step says.", True),
        a("route.close", ("escape", "f5"), "Back to the walk", "Back to the step in hand.", True),
        a("pages.close", ("escape", "f4"), "Close", "Back to where you came from.", True),
        a("pages.report", ("r",), "Report", "Make a report of this job, for its owner or for the shop.", True),
        a("pages.top", ("home",), "Top", "The first page."),
        a("pages.end", ("end",), "End", "The last page."),
        # the bench
        a("bench.take", ("enter",), "Take up", "Take the marked job up where it stands.", True),
        a("bench.find", ("slash",), "Find", "Show only jobs that have the words you type.", True),
        a("bench.intake", ("t",), "Take in", "Take a drum in: whose it is, which drum, what is known of it.", True),
        a("bench.practise", ("p",), "Practise", "Walk a procedure as a practice job; nothing of it counts.", True),
        a("bench.book", ("b",), "Book", "The jobs that are finished, and their pages.", True),
        a("bench.procedures", ("l",), "Procedures", "What can be worked to here, and whether it is approved.", True),
        a("bench.people", ("e",), "People", "Who works here, and who has a PIN."),
        a("bench.who", ("w",), "Who works", "Say who works at this bench from now on."),
        a("bench.pages", ("f4",), "Pages", "Read the pages of the marked job; nothing is changed."),
        a(
            "bench.about",
            ("i",),
            "What it is",
            "What the marked job is: whose drum, which drum, what they complain of.",
        ),
        a("bench.leave", ("q", "f10"), "Leave", "Leave the program; whatever was noted is kept.", True),
        a("bench.again", ("f5",), "Look again", "Look at all the jobs again."),
        a("bench.close", ("escape",), "All jobs", "Show all the jobs again.", True),
        *_moving("bench", "job"),
        # the shop's book
        a("book.open", ("enter",), "Open", "Read the pages of the marked job.", True),
        a("book.report", ("r",), "Report", "Make a report of the marked job, for its owner or for the shop.", True),
        a("book.find", ("slash",), "Find", "Show only jobs that have the words you type.", True),
        a("book.close", ("escape",), "Back", "Show all the jobs again, or go back to the bench.", True),
        *_moving("book", "job"),
        # a job's pages out of the book
        a("record.event", ("enter",), "Its event", "The event of the log that the marked number came from.", True),
        a("record.next", ("right",), "Next number", "Mark the next number.", True),
        a("record.before", ("left",), "Number before", "Mark the number before."),
        a("record.number", ("n",), "A number", "Type the number of an event and see it.", True),
        a("record.report", ("r",), "Report", "Make a report of this job, for its owner or for the shop.", True),
        a("record.close", ("escape", "f4"), "Back", "Back to where you came from.", True),
        *_moving("record", "line"),
        # procedures, people, intake
        a("procedures.open", ("enter",), "Its steps", "The steps of the marked procedure and where they lead.", True),
        a("procedures.learned", ("f4",), "Logs", "What the shop's logs say of the marked procedure.", True),
        a(
            "procedures.write",
            ("f2",),
            "Write",
            "Write the marked procedure; one that came with the program as a copy.",
            True,
        ),
        a("procedures.approve", ("f3",), "Approve", "Have the marked procedure approved for customers' jobs.", True),
        a("procedures.close", ("escape",), "Back", "Back to the bench.", True),
        *_moving("procedures", "procedure"),
        a("people.close", ("escape",), "Back", "Back to the bench.", True),
        *_moving("people", "line"),
        a("learned.open", ("enter",), "Its job", "The pages of a job that the marked line comes from.", True),
        a("learned.next", ("right",), "Next part", "Mark the next step, or the next part of the page.", True),
        a("learned.before", ("left",), "Part before", "Mark the step before, or the part before."),
        a("learned.close", ("escape",), "Back", "Back to where you came from.", True),
        *_moving("learned", "line"),
        # listening
        a("listen.next", ("enter", "pagedown"), "Take it", "Take what was heard, all taps together.", True),
        a("listen.drop", ("backspace", "pageup"), "Drop the last", "Let the last tap not count.", True),
        a("listen.close", ("escape",), "Type it", "Back to the walk; nothing is noted.", True),
        # the practice drum; plain keys go into the order
        a("drum.next", ("enter",), "Tap", "Tap the marked rod, or do what is typed.", True),
        a("drum.up", ("up",), "Rod before", "Mark the rod before, as a hand goes across."),
        a("drum.down", ("down",), "Next rod", "Mark the next rod, as a hand goes across."),
        a("drum.all", ("f2",), "All", "Tap beside every rod, in opposite pairs.", True),
        a("drum.press", ("f3",), "Press", "Press the film home, so that what was turned arrives.", True),
        a("drum.advice", ("f4",), "Advice", "Which rods the sums would turn after a whole round.", True),
        a("drum.depth", ("f5",), "Depth", "Read the depth gauge beside every rod.", True),
        a("drum.pad", ("f6",), "Pad", "Lay the other head on its pad, or take it off.", True),
        a("drum.advised", ("f7",), "As advised", "Turn the rods as the walk advises.", True),
        a("drum.take", ("f8",), "Take", "Take the note of the rod that the walk asks for.", True),
        a("drum.page_up", ("pageup",), "Read back", "What was said before."),
        a("drum.page_down", ("pagedown",), "Read on", "What was said after it."),
        a("drum.done", ("f10",), "Done", "Hear how it went, and what was hidden.", True),
        a("drum.close", ("escape",), "Leave", "Leave the drum.", True),
        # writing a procedure; every plain key goes into the text
        a("write.save", ("f2", "ctrl+s"), "Save", "Write the text to its file, just as it stands.", True),
        a("write.next_fault", ("f3",), "Fault", "Go to the next thing that is wrong.", True),
        a("write.fault_before", ("shift+f3",), "Fault before", "Go to the thing before that is wrong."),
        a("write.mend", ("f4",), "Mend", "What can be put in for you: a missing branch, a name, examples.", True),
        a("write.walk", ("f5",), "Walk", "Walk the text as it stands, from the step at the cursor.", True),
        a("write.side", ("f6",), "Outline", "The text read aloud, then the step as an apprentice will see it.", True),
        a("write.rename", ("f7",), "Rename", "Give the step at the cursor another name, everywhere."),
        a("write.offer", ("f8", "ctrl+space"), "Names", "The names that fit where the cursor stands.", True),
        a("write.find", ("ctrl+f",), "Find", "Go to the next place of words you type; once more goes on."),
        a("write.steps", ("ctrl+g",), "Go to a step", "Go to a step, found by a part of its name."),
        a("write.cut", ("ctrl+x",), "Take out", "Take out what is marked, or the whole line; Ctrl+V puts it in again."),
        a("write.more", ("f9",), "More", "Words, steps, your own editor, what the logs say, approval.", True),
        a("write.leave", ("f10",), "Leave", "Leave; what is not saved is asked about.", True),
        a("intake.next", ("enter",), "Next line", "On to the next line; from the last one the job is opened.", True),
        a("intake.up", ("up",), "Line before", "Back to the line before."),
        a("intake.down", ("down",), "Line after", "On to the next line."),
        a("intake.keep", ("ctrl+s",), "Open the job", "Open the job with what stands here.", True),
        a("intake.close", ("escape",), "Leave it", "Leave this; no job is opened.", True),
        # where something is asked
        a("ask.take", ("enter",), "Take it", "Take what is typed or chosen.", True),
        a("ask.so", ("y",), "It is so", "It is so, and meant on purpose.", True),
        a("ask.up", ("up",), "Up", "The line above."),
        a("ask.down", ("down",), "Down", "The line below."),
        a("ask.keep", ("ctrl+s",), "Keep it", "Keep what was written.", True),
        a("ask.close", ("escape",), "Leave it", "Leave this without changing anything.", True),
    )


ACTIONS: tuple[Action, ...] = _all()
"""Every action there is, in the order in which help lists them."""

BY_ID: dict[str, Action] = {action.id: action for action in ACTIONS}


def at(place: str) -> list[Action]:
    """The actions of one place."""
    return [action for action in ACTIONS if action.place == place]


_SHOWN = {
    "enter": "Enter",
    "pagedown": "PgDn",
    "pageup": "PgUp",
    "escape": "Esc",
    "question_mark": "?",
    "slash": "/",
    "space": "Space",
    "underscore": "_",
    "up": "Up",
    "down": "Down",
    "left": "Left",
    "right": "Right",
    "home": "Home",
    "end": "End",
    "tab": "Tab",
}


def key_text(key: str) -> str:
    """A key as it is written on screen: `Enter`, `F2`, `Ctrl+B`, `y`."""
    parts = key.split("+")
    last = _SHOWN.get(parts[-1], parts[-1].upper() if len(parts[-1]) > 1 or len(parts) > 1 else parts[-1])
    return "+".join([*(part.capitalize() for part in parts[:-1]), last])
