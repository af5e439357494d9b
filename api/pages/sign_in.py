"""The pages on which somebody signs in, and makes the first account of all."""

from __future__ import annotations

from importlib import resources

from api.pages.templating import templates


def pair_html(*, code: str, is_secure: bool, again_s: int) -> str:
    """Return the page that shows a device's code until it is taken in.

    Parameters
    ----------
    again_s
        Seconds after which it asks again.
    """
    page = templates().get_template("pair.html")
    return page.render(code=code, is_secure=is_secure, again_s=again_s)


def sign_in_css() -> str:
    """Return the style of these pages."""
    return resources.files("api.pages").joinpath("static", "sign_in.css").read_text("utf-8")


def sign_in_html(*, problem: str | None, is_secure: bool) -> str:
    """Return the page to sign in.

    Parameters
    ----------
    problem
        Why the last try failed; None for the first.
    is_secure
        Whether others in the network cannot read along.
    """
    page = templates().get_template("sign_in.html")
    return page.render(problem=problem, is_secure=is_secure)


def first_run_html(*, problem: str | None, is_secure: bool, shortest: int) -> str:
    """Return the page that makes the first account.

    Parameters
    ----------
    shortest
        Letters that a password has at least.
    """
    page = templates().get_template("first_run.html")
    return page.render(problem=problem, is_secure=is_secure, shortest=shortest)
