"""The two preparation methods that come with the app, as data: one for whole bean, one for ground.

A new bench stores them as the first version of two methods; from then on they belong to the bench. Their
texts are English source texts: a screen translates a stored text as long as it still equals the text here.
"""

from __future__ import annotations

from dataclasses import dataclass


def N_(text: str) -> str:
    """Mark a text for the translation catalogue (extract with the keyword N_) and return it as it is."""
    return text


# How long a meter that was off is left on before the first reading: common practice, no source.
WARM_UP_S = 60


@dataclass(frozen=True, kw_only=True)
class DefaultStep:
    """One screen of a method. `picture` is the name of a file in static/pictures, without .svg."""

    title: str
    body: str
    done_label: str
    why: str
    picture: str
    caution: str | None = None
    timer_s: int | None = None
    note_label: str | None = None
    note_unit: str | None = None


@dataclass(frozen=True, kw_only=True)
class DefaultMethod:
    """One method: its kind ('whole' or 'ground'), its dish and its steps in order."""

    key: str
    kind: str
    name: str
    dish: str
    planned_readings: int = 3
    planned_fills: int = 1
    steps: tuple[DefaultStep, ...]


_WARM_WHY = N_(
    "A meter that has just been switched on is still settling. Its numbers can walk although the coffee "
    "stays the same."
)
_SEAT_WHY = N_(
    "Light from the room mixes with the meter's own. Turned a quarter, it sees the same dish from another "
    "side, so that one odd spot counts for less."
)

WHOLE_BEAN = DefaultMethod(
    key="whole-deep-dish",
    kind="whole",
    name=N_("Whole bean, deep dish"),
    dish=N_("Deep dish"),
    steps=(
        DefaultStep(
            title=N_("Switch on the meter and let it warm up"),
            body=N_("Give it one minute before the first reading. If it has been on for longer, go on."),
            done_label=N_("Done, it is warm"),
            why=_WARM_WHY,
            picture="warm-meter",
            timer_s=WARM_UP_S,
        ),
        DefaultStep(
            title=N_("Take the sample from the cooled tray"),
            body=N_(
                "Scoop from several places in the tray. Take enough for the heaped dish, and for the grinder "
                "if you read ground too."
            ),
            done_label=N_("Done, I have the sample"),
            why=N_(
                "One spot in the tray may not look like the rest. Scoops from several places stand for the "
                "whole batch."
            ),
            picture="sample-tray",
            # Around 200 degrees at the drop: common practice, no source.
            caution=N_(
                "Hot beans burn: they leave the drum at around 200 °C. Sample only from the cooled tray, "
                "with its arm at rest. Never reach into a turning drum or a running machine. Your site's "
                "rules and the machine's manual come first."
            ),
        ),
        DefaultStep(
            title=N_("Let the sample cool to room temperature"),
            body=N_(
                "Spread the beans in a thin layer and wait. If you have a thermometer, note what it shows."
            ),
            done_label=N_("Done, it is cool"),
            why=N_(
                "Warm coffee can read differently from cool coffee, and it warms the meter that stands on "
                "it. At room temperature every batch is read alike."
            ),
            picture="cool-sample",
            caution=N_("If you feel heat rising from the beans, do not touch them. Wait."),
            note_label=N_("Sample temperature"),
            note_unit=N_("°C"),
        ),
        DefaultStep(
            title=N_("Fill the deep dish until it is heaped"),
            body=N_(
                "Let the beans fall in loosely until they stand above the rim. Do not press, shake or tap."
            ),
            done_label=N_("Done, it is heaped"),
            why=N_(
                "Pressed or shaken beans lie closer together than loose ones, and that can move the number. "
                "Filling is where two people differ most easily."
            ),
            picture="fill-deep",
        ),
        DefaultStep(
            title=N_("Level the dish with the straightedge"),
            body=N_("Stand it on the rim and pull it across once. What stands above the rim falls away."),
            done_label=N_("Done, it is level"),
            why=N_(
                "The meter should see the beans from the same distance every time. A heap brings them "
                "nearer, a hollow takes them away."
            ),
            picture="level-deep",
        ),
        DefaultStep(
            title=N_("Look for proud beans and holes"),
            body=N_(
                "Bring your eye down to the rim. Take off a bean that stands proud, lay a bean into a hole, "
                "then look again."
            ),
            done_label=N_("Done, it is flat and full"),
            why=N_(
                "A proud bean holds the meter off the rim. A hole sends little light back, and that reads as "
                "a darker coffee."
            ),
            picture="look-deep",
        ),
        DefaultStep(
            title=N_("Seat the meter flat on the dish"),
            body=N_(
                "It must not rock, and no light may come in under it. After each reading turn it a quarter "
                "and seat it again, without stirring the beans."
            ),
            done_label=N_("Done, it sits flat"),
            why=_SEAT_WHY,
            picture="seat-deep",
        ),
    ),
)

GROUND = DefaultMethod(
    key="ground-shallow-dish",
    kind="ground",
    name=N_("Ground, shallow dish"),
    dish=N_("Shallow dish"),
    steps=(
        DefaultStep(
            title=N_("Warm the meter if it is not warm yet"),
            body=N_(
                "Switch it on and give it one minute. If it has been on since the whole bean was read, go "
                "on."
            ),
            done_label=N_("Done, it is warm"),
            why=_WARM_WHY,
            picture="warm-meter",
            timer_s=WARM_UP_S,
        ),
        DefaultStep(
            title=N_("Check the grinder's setting"),
            body=N_(
                "It must stand at the setting that belongs to this method. If it does not, set it back "
                "before you grind anything."
            ),
            done_label=N_("Done, the setting is right"),
            why=N_(
                "The same coffee ground finer reads lighter. A setting that has moved looks just like "
                "another roast."
            ),
            picture="grinder-setting",
            caution=N_(
                "Burrs cut. Switch the grinder off and unplug it before you open it, and follow its manual."
            ),
        ),
        DefaultStep(
            title=N_("Purge the grinder with a little of this batch"),
            body=N_("Grind a small scoop of the cooled sample into a spare cup and throw it away."),
            done_label=N_("Done, it is purged"),
            why=N_(
                "Coffee from the last grind stays behind in the grinder. Without a purge it ends up in this "
                "batch's dish."
            ),
            picture="grinder-purge",
            caution=N_(
                "Never put a finger near the burrs, neither from above nor through the chute. Hot beans "
                "burn: use cooled beans only, never from a turning drum or a running machine. Chaff and fine "
                "grounds can catch fire: keep them away from heat. Your site's rules come first."
            ),
        ),
        DefaultStep(
            title=N_("Grind the sample"),
            body=N_(
                "Grind enough to fill the shallow dish in one go and let the grinder run empty. Then stir "
                "the grounds."
            ),
            done_label=N_("Done, it is ground"),
            why=N_("Coarse and fine grounds part as they fall. Stirred, every spoonful holds some of both."),
            picture="grinder-grind",
            caution=N_(
                "If the grinder jams, switch it off and unplug it before you look. Never clear the burrs or "
                "the chute with a finger."
            ),
        ),
        DefaultStep(
            title=N_("Fill the shallow dish and spread the grounds evenly"),
            body=N_(
                "Let them fall in loosely until they stand above the rim, and spread them to every edge. Do "
                "not press."
            ),
            done_label=N_("Done, it is spread"),
            why=N_(
                "Packed grounds can read differently from loose ones. Spread evenly, one side of the dish is "
                "like the other."
            ),
            picture="spread-shallow",
        ),
        DefaultStep(
            title=N_("Level it with the straightedge, without pressing"),
            body=N_("Pull it across the rim once. Do not push down, and do not go back over the surface."),
            done_label=N_("Done, it is level"),
            why=N_(
                "Pressing smooths the surface, and a smooth surface can send light back differently from a "
                "loose one. One light pull is easy to do the same way every time."
            ),
            picture="level-shallow",
        ),
        DefaultStep(
            title=N_("Look for holes and streaks"),
            body=N_(
                "Look at the surface from several sides. If you see a hole, a lump or a streak, stir, spread "
                "and level once more."
            ),
            done_label=N_("Done, it is even"),
            why=N_(
                "A hole or a streak reads differently from the rest, so the number would hang on where the "
                "meter happens to look."
            ),
            picture="look-shallow",
        ),
        DefaultStep(
            title=N_("Seat the meter flat on the dish"),
            body=N_(
                "It must not rock, and no light may come in under it. After each reading turn it a quarter "
                "and seat it again, without disturbing the grounds."
            ),
            done_label=N_("Done, it sits flat"),
            why=_SEAT_WHY,
            picture="seat-shallow",
        ),
    ),
)

DEFAULT_METHODS: tuple[DefaultMethod, ...] = (WHOLE_BEAN, GROUND)


def default_texts() -> frozenset[str]:
    """Every text of the two methods: a stored text may be translated as long as it is one of these."""
    texts: set[str | None] = set()
    for method in DEFAULT_METHODS:
        texts |= {method.name, method.dish}
        for step in method.steps:
            texts |= {step.title, step.body, step.done_label, step.why}
            texts |= {step.caution, step.note_label, step.note_unit}
    return frozenset(text for text in texts if text)
