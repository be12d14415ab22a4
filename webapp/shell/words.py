"""The sentences that the shell's scripts complete by themselves: the same ones as on the online pages, unfilled."""

from __future__ import annotations

from flask_babel import get_translations
from flask_babel import gettext as _


def ungettext(one: str, many: str) -> list[str]:
    """A sentence that counts, for one and for more, unfilled. Named so that its texts are gathered for translation."""
    translations = get_translations()
    return [translations.ungettext(one, many, n) for n in (1, 2)]


def words() -> dict[str, str | list[str]]:
    """By short names; `%(name)s` is what a script puts in. Each stands in an online page with the same text."""
    return form_words() | gear_words() | result_words() | verdict_words()


def form_words() -> dict[str, str | list[str]]:
    """Those of a new batch and of a capture."""
    return bench_words() | meter_words() | own_words()


def bench_words() -> dict:
    """Capture and gauge, and whoever is here."""
    return {
        "change_person": _("Change person, now %(name)s"),
        "whole": _("Whole bean"),
        "ground": _("Ground"),
        "difference": _("Ground minus whole"),
        "step_of": _("Step %(no)d of %(of)d"),
        "done": _("Done"),
        "fill": _("Fill %(no)d"),
        "counts": _("Does reading %(no)d of fill %(fill)d count?"),
        "earlier": _(
            "%(kind)s was read already at %(time)s by %(name)s. What you read now is kept beside it, and both count."
        ),
        "kept_apart": _("The method asks for %(setting)s. What you read is kept apart and not judged."),
        "onto_ground": _("Store, on to ground"),
        "onto_whole": _("Store, on to whole bean"),
        "onto_result": _("Store and see the result"),
        "give": _("give or take %(number)s"),
        "band": _("Band %(lower)s to %(upper)s."),
        "above": _("Limit %(number)s and above."),
        "below": _("Limit %(number)s and below."),
        "no_target": _("No target."),
        "target": _("Target %(number)s."),
    }


def meter_words() -> dict:
    """How a meter stands (ui/meter_words.py)."""
    return {
        "checked": _("Checked %(time)s by %(name)s."),
        "not_checked": _("Not checked yet."),
        "check_failed": _("The last check failed: %(time)s, %(name)s."),
        "check_due": _("A check is due."),
        "next_check": _("Next check: %(time)s."),
        "next_samples": ungettext("Next check after %(num)d more sample.", "Next check after %(num)d more samples."),
        "proven_missing": _("Meter not proven: it was not checked."),
        "proven_overdue": _("Meter not proven: its check was overdue."),
        "proven_failed": _("Meter not proven: its last check had failed."),
        "check_or_lead": _("Check the meter and read again, or a lead decides."),
        "check_of": _("Check of %(name)s"),
        "read_plate": _("Read the plate %(n)d times. It should read"),
    }


def gear_words() -> dict:
    """A grinder's log, a comparison, and a precision study."""
    return {
        "grind_check": _("Grind check"),
        "grind_check_of": _("Grind check of %(name)s"),
        "log_setting": _("The setting was moved"),
        "log_burrs": _("The burrs were changed"),
        "log_cleaned": _("It was cleaned"),
        "log_aligned": _("The burrs were aligned"),
        "own_fill": _("Your next fill: %(no)d of %(of)d"),
        "fill_of": _("%(name)s, fill %(no)d of %(of)d"),
        "fill_whose": _("This is a fill of %(name)s"),
        "fill_only": _(
            "The study compares hands, so only %(name)s can read it. If that is you, change person: tap the name in the"
            " top corner, or here."
        ),
        "mix": _("Mix the coffee well: %(coffee)s. Empty the dish and fill it anew, just as you always do."),
        "readings": ungettext("%(num)d reading", "%(num)d readings"),
        "counts_alone": _("Does reading %(no)d count?"),
        "cup": _("Cup %(code)s"),
        "with": _("%(cup)s with %(side)s"),
        "next_read": _("Next: %(cup)s with %(side)s"),
        "cup_of": _("%(cup)s is for %(name)s"),
        "others_cup": _(
            "In a sign-off each reads alone, without seeing what the other has read. %(name)s signs in to read this"
            " cup."
        ),
        "method_no": _("%(name)s, version %(no)d"),
        "grinder_at": _("%(grinder)s, setting %(setting)s"),
        "scale_range": _("%(lower)s to %(upper)s in steps of %(step)s"),
        "read_already": _(
            "This was read already at %(time)s by %(name)s. What you read now is kept beside it, and both count."
        ),
    }


def result_words() -> dict:
    """The result screen."""
    return {
        "part_target": _("target %(centre)s"),
        "part_band": _("band %(lower)s to %(upper)s"),
        "part_above": _("limit %(limit)s and above"),
        "part_below": _("limit %(limit)s and below"),
        "part_give": _("give or take %(u)s"),
        "assumed": _("assumed"),
        "routine": _("from this bench's own work"),
        "study": _("from the study of %(day)s"),
        "new_fill": _("Readings disagree: prepare a new fill."),
        "fill_disagrees": _("The readings of one fill disagree."),
        "times_read": _("Read %(n)d times: all readings count together."),
        "apart": ungettext(
            "One more sample was read another way and is kept apart.",
            "%(num)d more samples were read another way and are kept apart.",
        ),
        "release": _("Released"),
        "hold": _("On hold"),
        "reject": _("Rejected"),
        "concession": _("Released by concession"),
        "remeasure": _("To be read again"),
        "for_customer": _("For %(customer)s."),
        "supersedes": _("This takes the place of: %(said)s"),
        "by": _("by %(name)s, %(time)s."),
        "title_release": _("Release batch %(code)s"),
        "title_hold": _("Hold batch %(code)s"),
        "title_remeasure": _("Have batch %(code)s read again"),
        "title_reject": _("Reject batch %(code)s"),
        "title_concession": _("Release batch %(code)s by concession"),
        "roasted": _("Roasted"),
        "roast_loss": _("Roast loss"),
        "whole_by": _("Whole bean read by"),
        "ground_by": _("Ground read by"),
        "how": _("How this was worked out"),
        "guarded": _("guarded, confidence %(c)s (JCGM 106)"),
        "simple": _("simple: in band from limit to limit (JCGM 106)"),
    }


def verdict_words() -> dict:
    """As webapp/ui/verdict_words.py says them."""
    return {
        "part_unjudged": _("No target"),
        "part_apart": _("Not judged"),
        "other_setting": _("Ground at %(at)s, the method asks for %(asked)s: shown, not judged."),
        "read_again": _("Read it again at the method's setting."),
        "burrs": _("The burrs were changed on %(day)s. Compare before you trust the old targets."),
        "part_inside": _("In band"),
        "part_undecided": _("Too close to call"),
        "out_darker": _("Out, darker"),
        "out_lighter": _("Out, lighter"),
        "out_ground_darker": _("Out, ground darker"),
        "out_ground_lighter": _("Out, ground lighter"),
        "dark_limit": _("dark limit"),
        "light_limit": _("light limit"),
        "on_limit": _("On the %(limit)s, give or take %(give)s."),
        "beyond": _("%(distance)s beyond the %(limit)s, give or take %(give)s."),
        "within": _("%(distance)s inside the %(limit)s, give or take %(give)s."),
        "ground_dark_against_whole": _("Ground is %(far)s too dark against whole bean, give or take %(give)s."),
        "ground_light_against_whole": _("Ground is %(far)s too light against whole bean, give or take %(give)s."),
        "settle_both": _("Another fill of both kinds may settle it."),
        "settle_none": _("More fills would not settle it: a lead decides."),
        "settle": ungettext("One more fill would settle it.", "%(num)d more fills would settle it."),
        "not_read": _("Not read yet"),
        "nothing_read": _("Nothing of this batch has been read."),
        "all_inside": _("Everything measured is inside its limits. Chance that it truly is: %(chance)s."),
        "one_inside": _("It is inside its limits. Chance that it truly is: %(chance)s."),
        "in_band": _("In band."),
        "release_it": _("Release it."),
        "hands_wait": _("Waits for a countersignature: %(what)s."),
        "hands_none": _("Not countersigned: %(what)s."),
        "read_before": _("%(kind)s read by %(name)s before the sign-off"),
        "release_signed": _("Release it when it is countersigned."),
        "hold_it": _("Hold it until a lead has decided."),
        "read_unjudged": _("Read, not judged."),
        "without_target": _("This product has no target for what was read."),
        "if_you_know": _("Release it if you know it is right."),
        "not_judged": _("Not judged yet."),
        "other_way": _("%(kind)s was read by another method or scale than its target's."),
        "by_targets_method": _("Read it by the target's method."),
        "so_far": _("So far"),
        "not_complete": _("Not complete yet."),
        "still_to_read": _("Still to read: %(kinds)s."),
    }


def own_words() -> dict:
    """What only the shell says."""
    return {
        "kit_age": ungettext(
            "Without the server. What this tablet knows is %(num)d hour old.",
            "Without the server. What this tablet knows is %(num)d hours old.",
        ),
        "kit_fresh": _("Without the server. What this tablet knows is from %(time)s."),
        "kit_old": _("Targets or methods may have changed since. Bring this tablet back to the network soon."),
        "elsewhere": _("Read by somebody else. The number is there again when the server is."),
        "to_read": _("still to read: %(kinds)s"),
        "kept": _("kept on this tablet"),
        "sign_later": _("It can be countersigned when the server is there: the numbers stand there."),
    }
