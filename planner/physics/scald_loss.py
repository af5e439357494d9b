"""What a pour loses, read back: from one thermometer reading, or from the scales.

References
----------
.. [1] Enthalpy of vaporisation of water: 2309 kJ/kg at 80 °C (steam tables).
.. [2] Brewing texts: amylases work twice as fast per 10 °C (30 min at 70 °C = 60 at 60).
"""

from __future__ import annotations

from planner.errors import OutOfRangeError

STEAM_KJ_PER_KG = 2309.0
DOUBLES_PER_K = 10.0


def loss_fraction_read(measured_c: float, still_c: float, room_c: float) -> float:
    """Return the loss fraction of a pour from one reading right after it.

    Parameters
    ----------
    measured_c
        Paste, stirred through, right after the pour [°C].
    still_c
        What it would be if nothing were lost, `adiabatic_pour_c` [°C].
    room_c
        Air [°C].

    Returns
    -------
    float
        Share of the rise over the room that was lost, to use for the same vessel again.

    Raises
    ------
    OutOfRangeError
        If the paste was warmer than a pour without loss by more than a thermometer errs, or not
        above the room.

    Examples
    --------
    >>> round(loss_fraction_read(70.0, 84.6, 20.0), 2)
    0.23
    """
    if not room_c < measured_c < still_c + 3:
        raise OutOfRangeError(
            f"loss_fraction_read: measured_c {measured_c:g} must lie between the room of {room_c:g}"
            f" and the pour without loss of {still_c:g} °C; check the water and the thermometer"
        )
    return max(0.0, (still_c - measured_c) / (still_c - room_c))


def steam_loss_k(steam_kg: float, mass_kg: float, scald_kj_per_kg_k: float) -> float:
    """Return the degrees that a paste has lost with its steam [K].

    Parameters
    ----------
    steam_kg
        What it weighs less than what went in [kg].
    mass_kg, scald_kj_per_kg_k
        The paste [kg, kJ/kg K].

    Returns
    -------
    float
        Degrees; 6 to 8 for each per cent of the mass [1]_.

    Raises
    ------
    OutOfRangeError
        If there is no paste, or more steam than paste.

    Examples
    --------
    >>> round(steam_loss_k(0.03, 3.0, 3.42), 1)
    6.8
    """
    if not (mass_kg > 0 and scald_kj_per_kg_k > 0 and 0 <= steam_kg < mass_kg):
        raise OutOfRangeError("steam_loss_k: needs a paste, and less steam than paste")
    return steam_kg * STEAM_KJ_PER_KG / (mass_kg * scald_kj_per_kg_k)


def same_work_min(minutes: float, at_c: float, instead_c: float) -> float:
    """Return the minutes at another temperature in which amylases do the same work [min].

    Notes
    -----
    Twice as fast per 10 °C [2]_, for temperatures that the enzymes bear: below about 70 °C.

    Examples
    --------
    >>> same_work_min(60.0, 60.0, 70.0)
    30.0
    """
    if not (minutes >= 0 and max(at_c, instead_c) <= 75):
        raise OutOfRangeError("same_work_min: enzymes are lost above 75 °C")
    return float(minutes * 2 ** ((at_c - instead_c) / DOUBLES_PER_K))
