"""Sentences that a page says by itself, when nobody can be asked: in the words of the house."""

from __future__ import annotations

from api.pages.words import Words


def phrases(say: Words) -> dict[str, str]:
    """Return the sentences by the names under which the pages know them.

    Placeholders in braces are left for the page to fill in.
    """
    return {
        "in": say("in {time}"),
        "ago": say("{time} ago"),
        "late": say("late by {time}"),
        "now": say("now"),
        "minutes": say("{n} min"),
        "hours": say("{h} h {m} min"),
        "as_of": say("as of {time}"),
        "stale": say("No network for {time}: this is what was known at {clock}."),
        "waiting_one": say("1 reading waits to be sent; it is kept here."),
        "waiting_many": say("{n} readings wait to be sent; they are kept here."),
        "waits": say("waits to be sent"),
        "signed_out": say("Signed out. Readings are kept here and sent once you have signed in."),
        "refused": say("Not taken: {reason}"),
        "from_strip": say(
            "From the strip, {what}. The network is away: not reckoned for this mix."
        ),
        "asking": say("From the strip, {what}; being reckoned …"),
        "beyond_strip": say("Beyond the strip: the figures stay until the network is back."),
        "ends_strip": say("By the ticket's minutes a degree; the network is away."),
        "gives": say("the dough then comes to {degrees}"),
        "no_number": say("That is no number. Write it like 24.5 or 24,5."),
        "no_time": say("That is no time. Write it like 23:15 or 2315."),
        "ask_tenth": say("You wrote {value}. Is it {tenth}?"),
        "ask_far": say("You wrote {value}. Is that right?"),
        "ask_again": say("{value} stands here. Write it anew?"),
        "tenth_keys": say("F2 takes it; or write it again."),
        "far_keys": say("Enter once more keeps it; or write it again."),
        "yes": say("yes, {value}"),
        "no": say("no, write it again"),
        "keep": say("yes, {value} is right"),
        "cannot": say("{value} cannot be read here: {low} to {high}."),
        "future": say("That is still to come. Write the time at which it was."),
    }
