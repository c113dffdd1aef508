"""`benchwalk practise`: a drum to learn on, without a drum."""

from __future__ import annotations

import secrets

import click

from .common import full_screen, mouse


@click.command("practise")
@click.option("--plain", is_flag=True, help="Line by line on stdin and stdout.")
@click.option("--rods", type=click.IntRange(5, 12), default=6, show_default=True, help="How many rods it has.")
@click.option(
    "--level",
    type=click.Choice(["even", "plain", "hard"]),
    default="plain",
    show_default=True,
    help="How much is wrong with it: nothing but slack, one thing, or three.",
)
@click.option("--seed", type=click.IntRange(0, 10**9), help="The same number makes the same drum; else a new one.")
@click.option("--silent", is_flag=True, help="Show taps and let none be heard.")
@click.pass_obj
def command(shop: str | None, /, plain: bool, rods: int, level: str, seed: int | None, silent: bool) -> int:
    """Work on a practice drum: turn, press, tap and tune it, and hear at the end what was hidden in it.

    It is a model on paper (docs/practice-drum.md), heard by the same ear as a recording. No job is opened.
    """
    from ..practice.drum import random_drum
    from ..practice.lesson import Lesson
    from ..practice.speaker import Speaker
    from ..sums import compute

    seed = secrets.randbelow(10**6) if seed is None else seed
    drum = random_drum(rods=rods, seed=seed, level=level)
    lesson = Lesson.begin(drum, drum.hidden.head)
    speaker = Speaker()
    if silent:
        speaker.silent = "silent"
    if plain or not full_screen():
        from ..plain.practising import practise
        from ..plain.stopping import Stopping
        from ..plain.talk import Talk

        with Stopping() as stopping:
            code = practise(lesson, Talk.here(stopping), compute, speaker)
        click.echo(f"The same drum again: --rods {rods} --level {level} --seed {seed}")
        return code
    from ..screens.drum import DrumScreen
    from ..screens.start import on_screen

    code = on_screen(lambda _told: DrumScreen(lesson, compute, speaker=speaker), mouse=mouse())
    click.echo(f"The same drum again: --rods {rods} --level {level} --seed {seed}")
    return code
