"""Sums: registered, given what they need in the right shape and unit, and resting on no circle."""

from __future__ import annotations

from ..quantities import Range, dimension
from ..signatures import SIGNATURES, Input, Output
from .linked import Argument, Linked, Path, argument
from .parts import Sum
from .scope import meant
from .variables import ROD, Variable


def link_sums(linked: Linked) -> None:
    p = linked.procedure
    for name, sum_ in p.sums.items():
        signature = SIGNATURES.get(sum_.use)
        if signature is None:
            linked.say(
                "unknown-sum",
                f"there is no sum '{sum_.use}'{meant(sum_.use, SIGNATURES)}; `benchwalk sum` lists them",
                "sums",
                name,
                "use",
            )
            continue
        if name in linked.variables or name in linked.limits:
            linked.say("duplicate-id", f"the name '{name}' already stands for something else", "sums", name)
            continue
        linked.variables[name] = Variable(name, "sum", sum=name)
        for output in signature.outputs:
            linked.variables[f"{name}.{output.name}"] = _output(linked, name, sum_, output)
    for name, sum_ in p.sums.items():
        if sum_.use in SIGNATURES:
            linked.arguments[name] = {}
            for key, text in sum_.with_.items():
                _argument(linked, name, sum_, key, text)
            for given in SIGNATURES[sum_.use].inputs:
                if not given.optional and given.name not in sum_.with_:
                    linked.say(
                        "sum-with", f"the sum '{sum_.use}' needs '{given.name}' ({given.about})", "sums", name, "with"
                    )
    _no_circle(linked)
    for reading, source in linked.wanted_from.items():
        variable = linked.variables.get(source)
        if variable is None or variable.kind != "range":
            linked.say(
                "unknown-name",
                f"'{source}' is not a range; wanted: from takes a sum's output of kind range, or a range that is taken",
                "readings",
                reading,
                "wanted",
            )
        else:
            for sum_name, arguments in linked.arguments.items():
                if source.startswith(f"{sum_name}.") and any(a.name == reading for a in arguments.values()):
                    linked.say(
                        "sum-with",
                        f"'{reading}' is judged by '{source}', so the sum '{sum_name}' cannot take it",
                        "sums",
                        sum_name,
                    )


def _output(linked: Linked, name: str, sum_: Sum, output: Output) -> Variable:
    unit = output.unit
    if unit == "same":
        first = SIGNATURES[sum_.use].inputs[0].name
        unit = _unit_of(linked, sum_.with_.get(first, ""))
    possible = Range(output.low, output.high) if output.low is not None or output.high is not None else None
    kind = {"placed": "number"}.get(output.kind, output.kind)
    places = ROD if output.kind == "placed" else None
    return Variable(
        f"{name}.{output.name}", kind, unit, output.choices, possible, None, places, output.resolution, sum=name
    )


def _unit_of(linked: Linked, text: str) -> str:
    variable = linked.variables.get(argument(text).name)
    if variable is not None:
        return variable.unit
    limit = linked.limits.get(argument(text).name)
    return limit.unit if limit else ""


def _argument(linked: Linked, name: str, sum_: Sum, key: str, text: str) -> None:
    at: Path = ("sums", name, "with", key)
    signature = SIGNATURES[sum_.use]
    given = next((i for i in signature.inputs if i.name == key), None)
    if given is None:
        names = [i.name for i in signature.inputs]
        linked.say(
            "sum-with", f"the sum '{sum_.use}' takes no '{key}'{meant(key, names)}; it takes {', '.join(names)}", *at
        )
        return
    wish = argument(text)
    choices = getattr(given, "choices", ()) or ()
    variable = linked.variable(wish.name)
    limit = linked.limits.get(wish.name)
    if wish.name in choices:
        if variable is not None or limit is not None:
            linked.say("sum-with", f"'{wish.name}' is a choice of '{key}' and also a name here; rename one", *at)
        linked.arguments[name][key] = Argument("literal", wish.name)
        return
    if variable is None and limit is None:
        known = [*linked.variables, *linked.limits]
        linked.say(
            "unknown-name", f"'{wish.name}' is no reading, limit, sum or fact here{meant(wish.name, known)}", *at
        )
        return
    unfit = _unfit(given, variable)
    if unfit:
        linked.say("sum-with", f"'{key}' takes {unfit}, and '{wish.name}' is none", *at)
        return
    if variable is not None and wish.name not in linked.variables and not given.optional:
        linked.say("sum-with", f"'{wish.name}' need not be said, and '{key}' must be there", *at)
        return
    unit = variable.unit if variable is not None else (limit.unit if limit else "")
    wanted = given.unit
    if wanted == "same":
        wanted = _unit_of(linked, sum_.with_.get(signature.inputs[0].name, ""))
    if given.kind != "choice" and wanted is not None and dimension(unit) != dimension(wanted):
        kinds = f"'{key}' is wanted in {wanted or 'plain numbers'}, and '{wish.name}' is in {unit or 'plain numbers'}"
        linked.say("units", kinds, *at)
        return
    placed = variable is not None and variable.places is not None
    if placed != given.placed:
        takes = "a value for each place" if given.placed else "one value"
        has = "one for each place" if placed else "only one"
        linked.say("sum-with", f"'{key}' takes {takes}, and '{wish.name}' has {has}", *at)
        return
    if (wish.how == "every") != given.many:
        linked.say(
            "sum-with",
            f"'{key}' takes {'every round: write every' if given.many else 'one value: write'} {wish.name}",
            *at,
        )
        return
    linked.arguments[name][key] = wish


def _unfit(given: Input, variable: Variable | None) -> str:
    """What an input takes, in words, where `variable` (None: a limit) cannot be that; else nothing."""
    if given.kind == "choice":
        words = variable.choices if variable is not None and variable.is_choice else ()
        fits = bool(words) and (not given.choices or set(words) <= set(given.choices))
        return "" if fits else f"a choice of nothing but {', '.join(given.choices)}" if given.choices else "a choice"
    if given.kind == "range":
        return "" if variable is not None and variable.kind == "range" else "a range"
    return "" if variable is None or variable.is_number else "a number"


def _no_circle(linked: Linked) -> None:
    needs = {
        name: {a.name.partition(".")[0] for a in arguments.values()} & set(linked.arguments)
        for name, arguments in linked.arguments.items()
    }
    done: set[str] = set()
    while True:
        ready = {n for n in needs if n not in done and needs[n] <= done}
        if not ready:
            break
        done |= ready
    for name in needs:
        if name not in done:
            linked.say(
                "sum-circle",
                f"the sum '{name}' rests on itself by way of {', '.join(sorted(needs[name]))}",
                "sums",
                name,
            )
