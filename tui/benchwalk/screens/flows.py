"""What the keys of the walk begin beside going on: each asks what it needs and sends its act, or changes nothing."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING

from ..daybook.times import moment_of
from ..errors import Failure, Refused
from ..shop.waiting import AT_ONCE
from ..walk import acts
from ..walk.phase import NOT_UNDER_WAY
from ..walk.step_acts import happenings
from . import about_job, correcting, reporting, signing
from .asking import AskLine, AskText, Pick
from .doing import Wish

if TYPE_CHECKING:
    from .walk import WalkScreen

Flow = Callable[["WalkScreen"], Awaitable[None]]


async def line(screen: WalkScreen, title: str, sentence: str = "", *, empty: bool = False) -> str | None:
    """Ask for one line; None where it is left."""
    return await screen.app.push_screen_wait(AskLine(title, sentence, may_be_empty=empty))


async def pick(screen: WalkScreen, title: str, sentence: str, choices: list[str]) -> int | None:
    """Ask for one of several; None where it is left."""
    return await screen.app.push_screen_wait(Pick(title, sentence, choices))


async def note(screen: WalkScreen) -> None:
    text = await screen.app.push_screen_wait(AskText("A note", "It stands in the job where you are now."))
    if text is not None:
        await _beside(screen, acts.Note(text), "Noted.")


async def _beside(screen: WalkScreen, act: acts.Act, said: str) -> None:
    """An act that does not move the walk: what is typed in the entry stays."""
    typed, marked, before = screen.entry.value, screen.marked, screen.just_now
    if await screen.do(Wish(act)) is not None:
        screen.just_now = before
        screen.refresh_page()
        screen.entry.value, screen.marked = typed, marked
        screen.say(said)


async def happened(screen: WalkScreen) -> None:
    fits = happenings(screen.session.state, screen.session.bench)
    index = await pick(screen, "It happened", "Which of these happened?", [event.say for _path, event in fits])
    if index is not None:
        path, event = fits[index]
        await screen.do(Wish(acts.Happens(event.event, path)))


async def problem(screen: WalkScreen) -> None:
    text = await line(
        screen, "A problem with this step", "What is wrong with it? Work rests until somebody says how it was settled."
    )
    if text is not None:
        await screen.do(Wish(acts.Problem(text)))


async def skip(screen: WalkScreen) -> None:
    here = screen.session.now()
    assert here.step is not None and here.step.may_skip is not None
    may = here.step.may_skip
    told = f"A {may.by} may skip it: {may.because.rstrip('.')}. Why is it skipped?"
    reason = await line(screen, "Skip this step", told)
    if reason is None:
        return
    sign = None
    if may.by not in screen.session.bench.roles.get(screen.session.who, frozenset()):
        sign = await signing.role_sign(screen, may.by, [], None, f"that this step is skipped: {reason}")
        if sign is None:
            return
    await screen.do(Wish(acts.Skip(reason, sign)))


async def leave_out(screen: WalkScreen) -> None:
    why = await line(screen, "Leave this reading out", "Why? (Enter alone leaves it unsaid.)", empty=True)
    if why is not None:
        await screen.do(Wish(acts.LeaveOut(why)))


async def late(screen: WalkScreen) -> None:
    """A reading that was taken earlier; its value is what is typed in the entry, or asked for."""
    asked = screen.shown.asked
    assert asked is not None

    def time_of(text: str) -> str:
        return moment_of(text, screen.session.bench.now)

    when = await screen.app.push_screen_wait(
        AskLine("A late entry", "When was it taken?", hint="9:30, or 2026-11-25T09:30", check=time_of)
    )
    if when is None:
        return
    choices, marked = screen.shown.choices, screen.marked
    word = choices[marked].word if choices and marked is not None else screen.typed
    if not word:
        raise Refused("first type or mark the value, then say that it is a late entry")
    sort = asked.reading.sort
    file = word if sort in ("picture", "sound") else ""
    await screen.do(Wish(acts.Record(word, late_at=time_of(when)), file=file, sort=sort))


async def other_place(screen: WalkScreen) -> None:
    place = await line(screen, "Another place", "At which place was it taken?")
    if place is None:
        return
    value = screen.typed or await line(screen, f"At {place}", "What was read there?")
    if value:
        await screen.do(Wish(acts.Record(value, place=place)))


async def hand_over(screen: WalkScreen) -> None:
    session = screen.session
    people = [p for p in session.people.by_id.values() if p.id != session.state.person]
    index = await pick(screen, "Hand over", "To whom?", [f"{p.name}, {', '.join(p.roles)}" for p in people])
    if index is None:
        return
    asked = "How does the drum stand, and what is to be looked out for?"
    told = await line(screen, f"Hand over to {people[index].name}", asked)
    if told is not None:
        await screen.do(Wish(acts.HandOver(people[index].id, told)))


async def take_on(screen: WalkScreen) -> None:
    """Whoever work was handed to takes it on here."""
    session = screen.session
    to = session.state.handed_to or session.state.person
    if not await signing.known(screen, to, "takes this work on"):
        return
    await screen.hand.call(lambda: session.take_on(to))
    screen.refresh_page()
    screen.say(f"{session.names.get(to, to)} has the work in hand")


async def back(screen: WalkScreen) -> None:
    await correcting.back(screen)


async def fix(screen: WalkScreen) -> None:
    await correcting.fix(screen)


async def newest(screen: WalkScreen) -> None:
    """The newest file in the shop's folder of pictures or recordings, shown in the entry before it counts."""
    asked = screen.shown.asked
    assert asked is not None
    if asked.reading.heard:
        from .hearing import out_of_the_newest

        await out_of_the_newest(screen)
        return
    sort = asked.reading.sort
    path = await screen.hand.call(lambda: screen.session.newest(sort))
    screen.entry.value = str(path)
    screen.say(f"the newest is {path.name}; " + screen.keyed("{walk.next} keeps it with the job"))


async def yes(screen: WalkScreen) -> None:
    if screen.read_on():
        raise Refused("read on first: there is more of it")
    act = acts.Account() if screen.shown.kind == "account" else acts.Acknowledge()
    await screen.do(Wish(act))


async def missing(screen: WalkScreen) -> None:
    what = await line(screen, "Missing", "What is missing? The count stays open until it is here, or a senior signs.")
    if what is not None:
        await screen.do(Wish(acts.Account(missing=what)))


async def sign(screen: WalkScreen) -> None:
    await signing.sign(screen)


async def stand(screen: WalkScreen) -> None:
    reason = await line(screen, "Let it stand", "Why may the walk stand as it went?")
    if reason is None:
        return
    given = await signing.role_sign(screen, screen.session.bench.overrules, [], None, f"the walk as it went: {reason}")
    if given is not None:
        await screen.do(Wish(acts.Accept(reason, given)))


async def way_out(screen: WalkScreen) -> None:
    stop = screen.session.state.leads_elsewhere()
    assert stop is not None
    await screen.do(Wish(acts.GoBack(stop.number, "a corrected value leads elsewhere")))


async def jump(screen: WalkScreen) -> None:
    await screen.do(Wish(acts.Waited(early="practice")))


async def other_branch(screen: WalkScreen) -> None:
    await correcting.other_branch(screen)


async def leave(screen: WalkScreen) -> None:
    """One key: the work is put down and the screen left. What is typed and not noted is asked about first."""
    typed = screen.typed
    if typed and screen.shown.kind not in ("ready", "recheck"):
        choices = ["Stay here", "Leave it unnoted, and put the work down"]
        if await pick(screen, "Not noted yet", f"You typed: {typed}", choices) != 1:
            return
    await put_down(screen, "")


async def leave_word(screen: WalkScreen) -> None:
    word = await line(screen, "Put the work down", "How does the drum stand?")
    if word is not None:
        await put_down(screen, word)


async def put_down(screen: WalkScreen, word: str) -> None:
    """Put the work down, with a word or none, and leave the screen. Where that cannot be kept, asking again leaves."""
    session = screen.session
    mine = session.who == session.state.person
    try:
        if mine and session.now().kind not in NOT_UNDER_WAY:
            decision = await screen.hand.do(acts.Pause(word))
            if decision.refusal and not word:
                decision = await screen.hand.do(acts.Pause(AT_ONCE))
            if decision.refusal:
                raise Refused(decision.refusal)
        elif word:
            await screen.hand.do(acts.Note(word))
    except Failure as failure:
        if not screen.unsaved:
            screen.unsaved = True
            raise Failure(f"NOT SAVED: {failure.message}. Once more leaves the job as it was noted last") from None
    await screen.hand.call(lambda: None)
    screen.hand.close()
    screen.leave()


async def pages(screen: WalkScreen) -> None:
    from .pages import PagesScreen

    session = screen.session
    await screen.app.push_screen(PagesScreen.of(session))


async def route(screen: WalkScreen) -> None:
    from .route import RouteScreen

    await screen.app.push_screen(RouteScreen(screen.session))


async def more(screen: WalkScreen) -> None:
    """Everything that can be done here, and why the rest cannot."""
    from .actions import WALK, at
    from .keymap import key_of

    listed = [a for a in at(WALK) if a.verb in FLOWS and a.verb != "more"] + [
        a for a in at(WALK) if a.verb in ("again", "terse")
    ]
    listed.sort(key=lambda a: bool(screen.off(a.verb)))
    off = {i: why for i, a in enumerate(listed) if (why := screen.off(a.verb))}
    keys = dict(screen.app._keymap)
    texts = [f"{a.label:<24}{key_of(a.id, keys)}" for a in listed]
    details = [a.help for a in listed]
    index = await screen.app.push_screen_wait(Pick("More", "What can be done here.", texts, off=off, details=details))
    if index is None:
        return
    verb = listed[index].verb
    if verb in FLOWS:
        await FLOWS[verb](screen)
    else:
        getattr(screen, f"action_{verb}")()


async def listen(screen: WalkScreen) -> None:
    from .hearing import listen as hear  # only now: sound and its sums are wanted by few

    await hear(screen)


FLOWS: dict[str, Flow] = {
    "listen": listen,
    "yes": yes,
    "sign": sign,
    "missing": missing,
    "note": note,
    "fix": fix,
    "pages": pages,
    "route": route,
    "about": about_job.about_this,
    "report": reporting.report,
    "happened": happened,
    "problem": problem,
    "more": more,
    "leave": leave,
    "leave_word": leave_word,
    "back": back,
    "hand_over": hand_over,
    "take_on": take_on,
    "skip": skip,
    "leave_out": leave_out,
    "late": late,
    "other_place": other_place,
    "other_branch": other_branch,
    "newest": newest,
    "way_out": way_out,
    "stand": stand,
    "jump": jump,
}
"""By the verb of the action. `take_on` has no key: going on begins it."""
