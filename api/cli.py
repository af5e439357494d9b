"""The commands of Ovenward.

Exit codes: 0 done; 1 the input has faults, all of them named; 2 wrong use of a command, or a
file that cannot be read; 3 planning or serving broke off.

Nothing heavy is imported before a command needs it, so that help comes at once.
"""

# ruff: noqa: PLC0415  (imports stand in the command that pays for them)

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from api import operator_commands
from api.chain_command import plan_all
from api.cli_errors import FAULTS, USAGE, plain_errors, stop
from api.scenario_files import first_comment, scenario_names, scenario_text

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from api.pages.reader import Reader
    from api.pages.sheet import PaperSize
    from api.pages.wording import Units
    from api.schemas.papers import PapersInput
    from api.settings import Settings
    from planner.conditions import Conditions
    from planner.corrections import Corrections
    from planner.day import Day
    from planner.pins import Pin
    from planner.planned import Plan

T = TypeVar("T")

DEMO_DAY = "july_night"
DEMO_SHEET = Path("ovenward-bench-sheet.html")
DEMO_PAPERS = Path("ovenward-papers")
WARMER_K = 1.5
PIPE_WIDTH = 110

app = typer.Typer(
    name="ovenward",
    help="Plans a bakery's night: mixes, dough temperatures, water, ice, levains, scalds, ovens.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
operator_commands.add_to(app)


@dataclass(frozen=True, slots=True)
class Tools:
    """What the commands use from elsewhere; tests hand in their own.

    Attributes
    ----------
    make_plan, serve
        None for the real ones, imported when needed.
    """

    make_plan: Callable[..., Plan] | None = None
    serve: Callable[[str, int], None] | None = None


@dataclass(frozen=True, slots=True)
class Night:
    """A day as read from a file.

    Attributes
    ----------
    learned
        What finished mixes have taught; None when none were given.
    """

    day: Day
    conditions: Conditions
    pins: tuple[Pin, ...]
    learned: Corrections | None = None
    papers: PapersInput | None = None


OrdersOption = Annotated[
    Path | None, typer.Option(help="Orders as CSV; they replace those of the day.")
]
FinishedOption = Annotated[
    Path | None, typer.Option(help="Finished mixes as TOML; they teach what the mixers heat.")
]
UnitsOption = Annotated[str, typer.Option(help="metric or us.")]
SheetOption = Annotated[Path | None, typer.Option(help="Also write the bench sheet there.")]
DrawingOption = Annotated[Path | None, typer.Option(help="Also draw the day there, as SVG.")]
DayArgument = Annotated[Path, typer.Argument(help="The day as TOML.", metavar="DAY.toml")]
HostOption = Annotated[str | None, typer.Option(help="Address to listen on.")]
PortOption = Annotated[int | None, typer.Option(help="Port to listen on.")]


# -- commands ----------------------------------------------------------------------------------


@app.command()
def demo(
    context: typer.Context,
    *,
    scenario: Annotated[str, typer.Option(help="Which demo day.")] = DEMO_DAY,
    sheet: Annotated[Path, typer.Option(help="Where to write the bench sheet.")] = DEMO_SHEET,
    units: UnitsOption = "metric",
    serve: Annotated[bool, typer.Option("--serve", help="Serve it afterwards.")] = False,
    host: HostOption = None,
    port: PortOption = None,
) -> None:
    """Plan a demo night, print its table and write its bench sheet."""
    with plain_errors():
        text = scenario_text(scenario)
        night, shown = _night_of(text), _units(units)
        plan = _planned(context, night)
        _print_table(plan, shown)
        _write_sheet(plan, sheet, shown, night.papers)
    if serve:
        before = partial(_store_demo, text=text, plan=plan)
        _serve(context, host, port, before=before, demo=True)


@app.command()
def plan(
    context: typer.Context,
    day: DayArgument,
    *,
    orders: OrdersOption = None,
    finished: FinishedOption = None,
    json: Annotated[bool, typer.Option("--json", help="Print the plan as JSON.")] = False,
    sheet: SheetOption = None,
    drawing: DrawingOption = None,
    units: UnitsOption = "metric",
) -> None:
    """Plan a day from a file and print its table."""
    with plain_errors():
        night, shown = _read_night(day, orders, finished), _units(units)
        made = _planned(context, night)
        if json:
            _print_json(made, shown)
        else:
            _print_table(made, shown)
        if sheet is not None:
            _write_sheet(made, sheet, shown, night.papers)
        if drawing is not None:
            _write_drawing(made, drawing, shown, night.papers)


@app.command()
def check(day: DayArgument, *, orders: OrdersOption = None) -> None:
    """Name every fault of a day's file, and count what it holds."""
    with plain_errors():
        night = _read_night(day, orders)
    bakery = night.day.bakery
    counts = (
        (len(night.day.lines), "line of the mix list", "lines of the mix list"),
        (len(night.day.formulas), "formula", "formulas"),
        (len(night.day.products), "product", "products"),
        (len(bakery.mixers), "mixer", "mixers"),
        (len(bakery.ovens), "oven", "ovens"),
        (len(night.day.shifts), "shift", "shifts"),
        (len(night.pins), "pin", "pins"),
    )
    listed = ", ".join(f"{n} {one if n == 1 else many}" for n, one, many in counts)
    typer.echo(f"No faults. {bakery.name}, {night.day.production_date}: {listed}.")


@app.command()
def balance(
    context: typer.Context,
    day: DayArgument,
    mix: Annotated[
        str | None, typer.Argument(help="Which mix; the first when left out.", metavar="MIX")
    ] = None,
    *,
    finished: FinishedOption = None,
    units: UnitsOption = "metric",
) -> None:
    """Print the heat balance of one mix term by term, to add up by hand."""
    from api.pages.balance import balance_text
    from planner import sum_reasons

    with plain_errors():
        night, shown = _read_night(day, None, finished), _units(units)
        made = _planned(context, night)
        known = {one.id: one for one in made.mixes}
        if not known:
            stop("The plan has no mix.", FAULTS)
        chosen = next(iter(known)) if mix is None else mix
        if chosen not in known:
            stop(f"There is no mix {chosen!r}; there are: {', '.join(known)}.", USAGE)
        reasons = sum_reasons(made, chosen)
        text = balance_text(made, known[chosen], _zone(made), shown, reasons)
        typer.echo(text, nl=False)


@app.command()
def papers(
    context: typer.Context,
    *,
    day: Annotated[Path | None, typer.Option(help="The day as TOML, not a demo day.")] = None,
    scenario: Annotated[str, typer.Option(help="Which demo day.")] = DEMO_DAY,
    folder: Annotated[Path, typer.Option(help="Where to write them.")] = DEMO_PAPERS,
    units: UnitsOption = "metric",
    language: Annotated[
        str | None, typer.Option(help="en or es; the bakery's own when left out.")
    ] = None,
    size: Annotated[
        str | None, typer.Option(help="A4 or Letter; the bakery's own when left out.")
    ] = None,
) -> None:
    """Write every paper of a night into a folder, as HTML and PDF, with its rows as data."""
    from api.paper_samples import next_version, write_samples

    with plain_errors():
        night = _night_of(scenario_text(scenario)) if day is None else _read_night(day, None)
        house = _papers_in(night, language)
        sheets = _size(size, house)
        made, read_in = _planned(context, night), _units(units)
        warm = replace(night, conditions=night.conditions.shifted(WARMER_K))
        other = next_version(made, _planned(context, warm))
        reader = _reader(made, read_in, house)
        files, note = _saved(lambda: write_samples(made, reader, folder, sheets, other), folder)
    typer.echo(f"{len(files)} files are in {folder}; slip is for a night {WARMER_K:g} °C warmer.")
    if note:
        typer.echo(note, err=True)


@app.command()
def scenarios() -> None:
    """List the demo days."""
    names = scenario_names()
    if not names:
        stop("No demo days are installed.", USAGE)
    width = max(len(name) for name in names)
    for name in names:
        typer.echo(f"{name:{width}}  {first_comment(scenario_text(name))}")


@app.command()
def serve(context: typer.Context, *, host: HostOption = None, port: PortOption = None) -> None:
    """Serve the interface for other programs and the pages."""
    _serve(context, host, port)


app.command()(plan_all)


def main() -> None:
    """Run the command that was asked for."""
    app()


# -- input -------------------------------------------------------------------------------------


def _read_night(day: Path, orders: Path | None, finished: Path | None = None) -> Night:
    text = _text_of(day)
    if orders is None:
        night = _night_of(text)
    else:
        night = _night_with_orders(text, _text_of(orders), orders.name)
    if finished is None:
        return night
    from api.files.toml_finished import learned

    told = learned(_text_of(finished), finished.name, night.day, night.conditions)
    return replace(night, learned=told)


def _night_with_orders(text: str, list_text: str, list_name: str) -> Night:
    """Return a day with its orders from a list; the faults of both are told in one breath."""
    from api.files import csv_orders, toml_day
    from planner.errors import Fault, InputError

    faults: list[Fault] = []
    products = None
    try:
        products = [product.id for product in _night_of(text).day.products]
    except InputError as error:
        faults += error.faults
    try:
        listed = csv_orders.read_orders(list_text, products)
    except InputError as error:
        faults += [
            Fault(f"{list_name}, {one.field}", one.value, one.problem, one.remedy)
            for one in error.faults
        ]
    if faults:
        raise InputError(faults)
    entered = csv_orders.with_orders(toml_day.read_day(text), listed)
    day, conditions, pins = entered.to_core()
    return Night(day, conditions, tuple(pins), papers=entered.bakery.papers)


def _night_of(text: str) -> Night:
    from api.files import toml_day

    day, conditions, pins = toml_day.load(text)
    return Night(day, conditions, tuple(pins), papers=toml_day.read_day(text).bakery.papers)


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError as error:
        stop(f"{path} cannot be read: {error.strerror or error}.", USAGE)
    except UnicodeDecodeError:
        stop(f"{path} is not UTF-8 text: save it as UTF-8.", USAGE)


def _units(name: str) -> Units:
    from api.pages.wording import Units

    try:
        return Units(name)
    except ValueError:
        stop(f"There are no units {name!r}; there are: {', '.join(Units)}.", USAGE)


def _papers_in(night: Night, language: str | None) -> PapersInput:
    """Return how the house wants its papers, in another language if one is named."""
    from api.pages.words import LANGUAGES

    house = night.papers or _usual_papers()
    if language is None:
        return house
    if language not in LANGUAGES:
        stop(f"There is no language {language!r}; there are: {', '.join(LANGUAGES)}.", USAGE)
    return house.model_copy(update={"language": language, "second_language": None})


def _size(name: str | None, house: PapersInput) -> PaperSize:
    from api.pages.sheet import PaperSize

    if name is None:
        return house.paper_size
    found = next((one for one in PaperSize if one.casefold() == name.casefold()), None)
    if found is None:
        stop(f"There is no size {name!r}; there are: {', '.join(PaperSize)}.", USAGE)
    return found


def _usual_papers() -> PapersInput:
    from api.schemas.papers import PapersInput

    return PapersInput()


def _reader(plan: Plan, units: Units, house: PapersInput) -> Reader:
    from api.pages.reader import reader_of

    return reader_of(plan, _zone(plan), units, house.words, house.scales)


def _saved(write: Callable[[], T], where: Path) -> T:
    try:
        return write()
    except OSError as error:
        stop(f"{where} cannot be written: {error.strerror or error}.", USAGE)


# -- planning and output -----------------------------------------------------------------------


def _planned(context: typer.Context, night: Night) -> Plan:
    from api.progress import progress_line
    from planner.corrections import Corrections

    make = _tools(context).make_plan or _real_make_plan()
    known = Corrections() if night.learned is None else night.learned
    with progress_line() as tell:
        return make(night.day, night.conditions, known, pins=night.pins, on_progress=tell)


def _real_make_plan() -> Callable[..., Plan]:
    from planner import make_plan

    return make_plan


def _tools(context: typer.Context) -> Tools:
    return context.obj if isinstance(context.obj, Tools) else Tools()


def _zone(plan: Plan) -> ZoneInfo:
    from zoneinfo import ZoneInfo

    return ZoneInfo(plan.day.bakery.zone)


def _print_table(plan: Plan, units: Units) -> None:
    from rich.console import Console

    from api.pages.table import plain_text, plan_table, print_table

    table = plan_table(plan, _zone(plan), units)
    if sys.stdout.isatty():
        print_table(table, Console(highlight=False))
    else:
        typer.echo(plain_text(table, PIPE_WIDTH), nl=False)


def _print_json(plan: Plan, units: Units) -> None:
    from api.schemas.plans import NightRead

    typer.echo(NightRead.of(plan, units).model_dump_json(indent=2))


def _write_sheet(plan: Plan, path: Path, units: Units, papers: PapersInput | None = None) -> None:
    from api.pages.sheet import sheet_html

    house = papers or _usual_papers()
    page = sheet_html(plan, _reader(plan, units, house), size=house.paper_size)
    _saved(lambda: path.write_text(page, encoding="utf-8"), path)
    typer.echo(f"The bench sheet is in {path}: open it in a browser and print it.", err=True)


def _write_drawing(plan: Plan, path: Path, units: Units, papers: PapersInput | None) -> None:
    from api.pages.day_drawing import drawing_file

    drawn = drawing_file(plan, _reader(plan, units, papers or _usual_papers()))
    _saved(lambda: path.write_text(drawn, encoding="utf-8"), path)
    typer.echo(f"The day is drawn in {path}: open it in a browser.", err=True)


# -- serving -----------------------------------------------------------------------------------


def _serve(
    context: typer.Context,
    host: str | None,
    port: int | None,
    before: Callable[[Settings], None] | None = None,
    *,
    demo: bool = False,
) -> None:
    from pydantic import ValidationError

    from api.settings import Settings

    given: dict[str, Any] = {"host": host, "port": port, "demo": demo or None}
    try:
        settings = Settings(**{key: value for key, value in given.items() if value is not None})
    except ValidationError as error:
        stop("\n".join(f"{one['loc'] or ''} {one['msg']}" for one in error.errors()), USAGE)
    with plain_errors():
        if before is not None:
            before(settings)
    run = _tools(context).serve
    if run is not None:
        run(settings.host, settings.port)
        return
    from api.main import serve as run_service

    run_service(settings)


def _store_demo(settings: Settings, text: str, plan: Plan) -> None:
    from api.clock import utc_now
    from api.demo import store_demo

    settings.data_dir.mkdir(parents=True, exist_ok=True)
    plan_id = store_demo(settings.address, text, plan, utc_now())
    base = f"http://{settings.host}:{settings.port}/api/v1"
    typer.echo(f"The plan     {base}/plans/{plan_id}", err=True)
    typer.echo(f"Its sheet    {base}/plans/{plan_id}/sheet", err=True)
    typer.echo(f"Interface    {base}/openapi.json", err=True)


if __name__ == "__main__":
    main()
