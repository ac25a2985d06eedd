"""What to do about a cable: which plug to make anew, in which order, with the fewest conductors moved.

A plan is done step by step, with a test after each, until the cable passes. Re-terminating cannot mend a break
between the ends or water in the cable; then it says replace.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.colours import ColourSet
from wiremap.cable.habits import Order, habits
from wiremap.cable.patterns import Pattern
from wiremap.cable.terminations import known_as
from wiremap.contact import End
from wiremap.judge.findings import MISPLACED, Fault, Finding, Place
from wiremap.judge.plugs.found import AsBuilt, Effort, Look
from wiremap.judge.plugs.intended import intended_orders
from wiremap.judge.remedy.joints import Joint, joint_at

Action = Literal["look", "find", "re-terminate", "clean", "open-joint", "replace"]
StepReason = Literal[
    "order", "wrong-kind", "too-few", "split", "plug", "plug-unknown", "joint", "run", "wet", "metal", "surface"
]
Held = tuple[tuple[str, str | None], ...]

ORDER_FAULTS: tuple[Fault, ...] = (*MISPLACED, "split-pair")
PLUG: tuple[Fault, ...] = (
    "open",
    "short",
    "screen-open",
    "screen-short",
    "high-resistance",
    "resistance-unbalance",
    "intermittent",
)
OF_A_PIECE: tuple[Fault, ...] = ("split-section",)  # made where pieces of a run are joined, never by its plugs
SURFACE: tuple[Fault, ...] = ("contact-film", "leakage")
WHOLE_CABLE: Mapping[Fault, StepReason] = {"wet-or-wrong-cable": "wet", "conductor-metal": "metal"}
# What one thing is worth against another, in minutes; assumptions, so that what is hard to open stays shut.
PLUG_MINUTES, CLOSED_MINUTES, RIGHT_PLUG_MINUTES = 10.0, 1000.0, 20.0
NOT_A_FAULT_OF_THE_CABLE: tuple[Fault, ...] = ("foreign-voltage", "equipment-attached")


class Step(Struct, frozen=True):
    """One thing to do.

    action "find": look in both plugs in which of them the fault is, and make that one anew.
    end: the plug, None = the cable. order: (contact, conductor) to crimp, empty where no order is known.
    known_as: the termination that is. changes: contacts whose conductor changes, by the likeliest order there
    now. moves: (from contact, to contact) of conductors at that plug; it holds whatever their colours. look:
    which contact to look at. place: the joint's name. if_it_stays: only when the steps before did not help.
    """

    action: Action
    why: StepReason
    end: End | None = None
    order: Held = ()
    known_as: str | None = None
    changes: tuple[str, ...] = ()
    moves: tuple[tuple[str, str], ...] = ()
    look: Look | None = None
    place: str | None = None
    if_it_stays: bool = False

    def to_builtins(self) -> dict[str, object]:
        """Return the step as it stands in JSON; what it does not have is left out."""
        plain: dict[str, object] = {"action": self.action, "why": self.why}
        more = {
            "end": self.end,
            "order": dict(self.order) or None,
            "known_as": self.known_as,
            "changes": list(self.changes) or None,
            "moves": [list(move) for move in self.moves] or None,
            "look": self.look.to_builtins() if self.look else None,
            "place": self.place,
            "if_it_stays": self.if_it_stays or None,
        }
        return plain | {key: value for key, value in more.items() if value is not None}


class Repair(Struct, frozen=True):
    """steps: what to do, in order, with a test after each, until it passes. instead: what does as well as the first."""

    steps: tuple[Step, ...]
    instead: tuple[Step, ...] = ()

    def to_builtins(self) -> dict[str, object]:
        """Return the plan as it stands in JSON."""
        plain: dict[str, object] = {"steps": [step.to_builtins() for step in self.steps]}
        return plain | ({"instead": [step.to_builtins() for step in self.instead]} if self.instead else {})


class _Option(Struct, frozen=True):
    """Plugs to make anew and what they get."""

    steps: tuple[Step, ...]

    @property
    def ends(self) -> set[End]:
        return {step.end for step in self.steps if step.end is not None}

    @property
    def count(self) -> int:
        return sum(len(step.changes) for step in self.steps)

    @property
    def own_orders(self) -> int:
        """Return how many plugs get an order that no termination has."""
        return sum(bool(step.order) and step.known_as is None for step in self.steps)


def repair(
    pattern: Pattern,
    colours: ColourSet,
    findings: Sequence[Finding],
    built: AsBuilt | None = None,
    routes: Sequence[tuple[str, str]] = (),
    wrong_kind: bool = False,
    joints: Sequence[Joint] = (),
    effort: Effort | None = None,
    plugs_right: bool = False,
    too_few: bool = False,
    twisted: Sequence[tuple[str, str]] = (),
) -> Repair:
    """Return what to do so that a cable with these findings becomes what the pattern wants.

    routes: (near, far) contacts of conductors that arrive. wrong_kind: the cable is sound as another pattern.
    plugs_right: what was read off both plugs cannot be what was measured, so that it is a joint that is wrong.
    twisted: near contacts that are pairs, measured.
    too_few: the cable has fewer conductors than the pattern wants.
    """
    faults = [finding for finding in findings if finding.fault not in NOT_A_FAULT_OF_THE_CABLE]
    if not faults or len(faults) < len(findings):
        return Repair(())
    whole = next((WHOLE_CABLE[finding.fault] for finding in faults if finding.fault in WHOLE_CABLE), None)
    if whole:
        return Repair((Step("replace", whole),))
    if too_few:
        return Repair((Step("replace", "too-few"),))
    in_run = [finding for finding in faults if finding.end == "run"]
    if in_run:
        joint = next((found for finding in in_run if (found := joint_at(finding.at_m, joints))), None)
        mixed_up = any(finding.fault in OF_A_PIECE for finding in in_run)
        suspected = (joint,) if joint else joints if mixed_up else ()
        opening = tuple(Step("open-joint", "joint", place=one.name) for one in suspected)
        return Repair((*opening, Step("replace", "run")))
    plan = _plugs(pattern, colours, faults, built, routes, wrong_kind, effort or Effort(), twisted)
    ordered = [finding for finding in faults if finding.fault in ORDER_FAULTS]
    if joints and (plugs_right or any(finding.end is None for finding in ordered)) and not wrong_kind:
        opening = tuple(Step("open-joint", "joint", place=joint.name) for joint in joints)
        looks = tuple(step for step in plan.steps if step.action == "look")
        return Repair((*looks, *opening, *(step for step in plan.steps if step.action != "look")), plan.instead)
    return plan


def _plugs(
    pattern: Pattern,
    colours: ColourSet,
    faults: Sequence[Finding],
    built: AsBuilt | None,
    routes: Sequence[tuple[str, str]],
    wrong_kind: bool,
    effort: Effort,
    twisted: Sequence[tuple[str, str]],
) -> Repair:
    surface = _cleaning(faults)
    explained = [finding for finding in faults if _explained(finding, built)]
    order = bool(explained) or any(finding.fault in ORDER_FAULTS for finding in faults)
    plug = [finding for finding in faults if finding.fault in PLUG and finding not in explained]
    if not order and not plug:
        return Repair((*surface, Step("replace", "surface")))
    known: set[Place | None] = {finding.end for finding in plug if finding.end in ("near", "far")}
    known |= _lacking(pattern, built) if explained else set()
    unknown = any(finding.end is None for finding in plug)
    why: StepReason = "wrong-kind" if wrong_kind else "order" if order else "plug"
    if order and not wrong_kind and all(one.fault == "split-pair" for one in faults if one.fault in ORDER_FAULTS):
        why = "split"
    options = _options(pattern, colours, built, routes, why if order else "plug", order, twisted)
    fitting = [option for option in options if known <= option.ends] or [options[-1]]
    best = min(fitting, key=lambda option: _cost(option, built, effort))
    steps = list(best.steps)
    if plug:
        # Where a fault lies is measured, and may be measured wrongly: what is left when the first plug was not it.
        both = {step.end: step for step in options[-1].steps}
        left = [both[end] for end in _by_effort(effort) if end not in best.ends and end in both]
        left.append(Step("replace", "plug-unknown" if unknown else "plug"))
        steps += [replace(step, if_it_stays=True) for step in left]
    look = built.next_look if order and built is not None and not built.settled else None
    first = (Step("look", why, look.end, look=look),) if look else ()
    if unknown and len(best.ends) == 1 and pattern.far_connector is not None:
        first = (*first, Step("find", "plug-unknown"))
    ordered = sorted(fitting, key=lambda option: option.count)
    instead = tuple(
        option.steps[0]
        for option in ordered
        if option is not best and len(option.steps) == 1 and option.steps[0] not in steps
    )
    return Repair((*first, *surface, *steps), instead)


def _explained(finding: Finding, built: AsBuilt | None) -> bool:
    """Whether the likeliest orders say why a contact is open: it is empty, or its conductor is in no other contact."""
    if finding.fault != "open" or built is None:
        return False
    near, far = dict(built.near_now), dict(built.far_now)

    def alone(now: Mapping[str, str | None], other: Mapping[str, str | None], contact: str) -> bool:
        return now.get(contact) is None or now[contact] not in other.values()

    return all(alone(near, far, one) for one in finding.near) and all(alone(far, near, one) for one in finding.far)


def _lacking(pattern: Pattern, built: AsBuilt | None) -> set[End]:
    """Return the ends whose plug has nothing in a contact that is wanted: what is made of the other does not help."""
    if built is None:
        return set()
    near, far = dict(built.near_now), dict(built.far_now)
    wanted = pattern.conductors
    found: set[End] = {"near"} if any(near.get(contact) is None for contact, _ in wanted) else set()
    return found | ({"far"} if any(far.get(contact) is None for _, contact in wanted) else set())


def _cleaning(faults: Sequence[Finding]) -> tuple[Step, ...]:
    steps: dict[End | None, Step] = {}
    for finding in faults:
        if finding.fault in SURFACE:
            end = finding.end if finding.end in ("near", "far") else None
            steps[end] = Step("clean", "surface", end)
    return tuple(steps.values())


def _by_effort(effort: Effort) -> tuple[End, End]:
    near, far = (math.inf if minutes is None else minutes for minutes in effort.minutes)
    return ("far", "near") if far < near else ("near", "far")


def _cost(option: _Option, built: AsBuilt | None, effort: Effort) -> tuple[float, ...]:
    """Return what speaks against an option: minutes, plugs in an order without a name, contacts that change.

    In the minutes is what it is worth to leave a plug alone that is right, where it is known that the other one is not.
    """
    spent = 0.0
    for end in option.ends:
        to_open = effort.near_minutes if end == "near" else effort.far_minutes
        spent += PLUG_MINUTES + (CLOSED_MINUTES if to_open is None else to_open)
    if built is not None and len(option.ends) == 1:
        at_fault = built.near_at_fault if "near" in option.ends else built.far_at_fault
        if at_fault < 0.5 and built.wrong_end != "either":
            spent += RIGHT_PLUG_MINUTES
    first, _ = _by_effort(effort)
    return (spent, option.own_orders, option.count, float(first not in option.ends))


def _options(
    pattern: Pattern,
    colours: ColourSet,
    built: AsBuilt | None,
    routes: Sequence[tuple[str, str]],
    why: StepReason,
    order: bool,
    twisted: Sequence[tuple[str, str]],
) -> list[_Option]:
    """Return what can be done with the plugs; the last option makes both (or the only one) anew."""
    if pattern.far_connector is None:
        return [_Option((Step("re-terminate", why, "near"),))]
    wanted = _all_wanted(pattern, colours, built)
    back = {far: near for near, far in wanted.items()}
    near_moves = tuple((near, back[far]) for near, far in routes if far in back and back[far] != near)
    far_moves = tuple((far, wanted[near]) for near, far in routes if near in wanted and wanted[near] != far)
    near_step = Step("re-terminate", why, "near", changes=tuple(to for _, to in near_moves), moves=near_moves)
    far_step = Step("re-terminate", why, "far", changes=tuple(to for _, to in far_moves), moves=far_moves)
    blind = [_Option((near_step,)), _Option((far_step,)), _Option((near_step, far_step))]
    if built is None:
        return blind
    near_now, far_now = dict(built.near_now), dict(built.far_now)
    options = []
    if not built.settled and built.next_look is None:
        options = [] if why == "split" else _of_moves(blind, pattern, routes, twisted)
    elif not order:
        for end, now in (("near", near_now), ("far", far_now)):
            options.append(_Option((_made(pattern, end, now, now, why, ()),)))
    else:
        if _keeps_pairs(far_now, pattern.far_pairs, colours):
            target = _target(near_now, {near: far_now.get(far) for near, far in wanted.items()}, far_now)
            options.append(_Option((_made(pattern, "near", target, near_now, why, near_moves),)))
        if _keeps_pairs(near_now, pattern.near_pairs, colours):
            target = _target(far_now, {far: near_now.get(near) for far, near in back.items()}, near_now)
            options.append(_Option((_made(pattern, "far", target, far_now, why, far_moves),)))
    both = []
    seen = {name for now in (near_now, far_now) for name in now.values() if name is not None}
    for intended in intended_orders(pattern, colours, habits(), _count(pattern, len(seen))):
        near = _made(
            pattern, "near", _as_dict(pattern.near_connector.conductor_contacts, intended.near), near_now, why, ()
        )
        far = _made(pattern, "far", _as_dict(pattern.far_connector.conductor_contacts, intended.far), far_now, why, ())
        both.append(_Option((near, far)))
    if both:
        options.append(min(both, key=lambda option: (option.own_orders, option.count)))
    elif options:
        options.append(_Option(tuple(step for option in options for step in option.steps)))
    return options or blind[2:]


def _count(pattern: Pattern, seen: int) -> int:
    """Return how many conductors a cable has of which so many are in the plugs: one more may hang loose."""
    wanted = len(pattern.conductors)
    return wanted if seen <= wanted else len(pattern.near_connector.conductor_contacts)


def _all_wanted(pattern: Pattern, colours: ColourSet, built: AsBuilt | None) -> dict[str, str]:
    """Return near contact -> far contact of all conductors in the plugs, those that the pattern leaves alone too."""
    wanted = dict(pattern.conductors)
    seen = {name for now in (built.near_now, built.far_now) for _, name in now if name} if built is not None else set()
    if len(seen) <= len(wanted) or pattern.far_connector is None:
        return wanted
    for intended in intended_orders(pattern, colours, habits(), _count(pattern, len(seen)))[:1]:
        at = dict(zip(intended.far, pattern.far_connector.conductor_contacts, strict=True))
        near = zip(pattern.near_connector.conductor_contacts, intended.near, strict=True)
        wanted |= {contact: at[name] for contact, name in near if name is not None and name in at}
    return wanted


def _of_moves(
    blind: Sequence[_Option], pattern: Pattern, routes: Sequence[tuple[str, str]], twisted: Sequence[tuple[str, str]]
) -> list[_Option]:
    """Return the options that make one plug match the other, whose pairs are right as far as was measured."""
    leads = dict(routes)
    far = [(leads[a], leads[b]) for a, b in twisted if a in leads and b in leads]
    splits = (_splits(pattern.far_pairs, far), _splits(pattern.near_pairs, twisted))
    return [option for option, split in zip(blind, splits, strict=False) if not split]


def _splits(wanted: Sequence[tuple[str, str]], twisted: Sequence[tuple[str, str]]) -> bool:
    """Whether a conductor of a pair that is wanted is twisted with one that is not of it."""
    return any(len({*pair} & {*seen}) == 1 for pair in wanted for seen in twisted)


def _as_dict(contacts: Sequence[str], order: Order) -> dict[str, str | None]:
    return dict(zip(contacts, order, strict=True))


def _target(
    now: Mapping[str, str | None], wanted: Mapping[str, str | None], other: Mapping[str, str | None]
) -> dict[str, str | None]:
    """Return the order a plug must get: what the pattern wants, and what is left over in the contacts left over.

    now, other: what this plug and the other one hold now.
    """
    target: dict[str, str | None] = dict.fromkeys(now)
    target |= {contact: name for contact, name in wanted.items() if contact in target}
    placed = set(target.values())
    there = dict.fromkeys((*now.values(), *other.values()))
    left = [name for name in there if name is not None and name not in placed]
    for contact, name in now.items():
        if name in left and target[contact] is None and contact not in wanted:
            target[contact] = name
            left.remove(name)
    for contact in now:
        if left and target[contact] is None:
            target[contact] = left.pop(0)
    return target


def _made(
    pattern: Pattern,
    end: str,
    target: Mapping[str, str | None],
    now: Mapping[str, str | None],
    why: StepReason,
    moves: tuple[tuple[str, str], ...],
) -> Step:
    plug = pattern.near_connector if end == "near" else pattern.far_connector
    assert plug is not None
    held: Held = tuple((contact, target[contact]) for contact in plug.conductor_contacts)
    termination = known_as(plug, tuple((contact, name) for contact, name in held if name is not None))
    changes = tuple(contact for contact, name in held if now.get(contact) != name)
    side: End = "near" if end == "near" else "far"
    return Step("re-terminate", why, side, held, termination.name if termination else None, changes, moves)


def _keeps_pairs(now: Mapping[str, str | None], pairs: Sequence[tuple[str, str]], colours: ColourSet) -> bool:
    """Whether every expected pair of a plug holds two conductors that are twisted together."""
    for plus, minus in pairs:
        first, second = now.get(plus), now.get(minus)
        if first is None or second is None or second not in colours.mates(first):
            return False
    return True
