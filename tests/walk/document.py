"""The walk through the garden as a document to read; every number in it comes from the replies."""

import json
from collections.abc import Iterator, Sequence
from textwrap import fill
from typing import Final

from tests.jobs import Json
from tests.walk.walking import DRIVEWAY, MAINS_OF_THE_DAY, SKETCH, STOCK, Step, at

READ_ME: Final = "README.md"
COLLECTION: Final = "garden.http"
TITLES: Final = (
    "Which cable?",
    "What does each lamp get?",
    "Which transformer, and which run on which circuit?",
    "Does the job still pass with what was bought?",
    "What does it come to?",
    "What should the meter show?",
    "The meter shows something else",
    "After the repair",
)
"""Of the steps, in their order."""
WIDTH: Final = 118


def files(steps: Sequence[Step]) -> dict[str, str]:
    """What the folder of the garden holds beside what a person wrote, by name."""
    requests = {step.name: json.dumps(step.request, indent=1) + "\n" for step in steps}
    return {READ_ME: "\n\n".join(_blocks(steps)) + "\n", COLLECTION: _collection(steps), **requests}


def _collection(steps: Sequence[Step]) -> str:
    """The requests for an editor that sends such files."""
    head = (
        "# Written by `python -m tests.walk`; README.md beside this tells the walk.\n"
        "# With keys, add to each request:\n# Authorization: Bearer <your key>\n"
        "@service = http://127.0.0.1:8080\n"
    )
    rows = [
        f"### {title}\nPOST {{{{service}}}}/v1/{step.study}\n"
        f"Content-Type: application/json\n\n< ./{step.name}\n"
        for title, step in zip(TITLES, steps, strict=True)
    ]
    return "\n".join([head, *rows])


def _blocks(steps: Sequence[Step]) -> Iterator[str]:
    """Paragraphs, commands and tables of the document, in Markdown."""
    cable, drop, loading, bought, quote, sheet, check, after = steps
    told = (
        _cable(cable),
        _lamps(drop),
        _transformer(loading),
        _bought(bought),
        _quote(quote),
        _sheet(sheet),
        _check(check),
        _after(after),
    )
    yield from _opening()
    for title, step, words in zip(TITLES, steps, told, strict=True):
        yield from _asked(title, step)
        yield from words


def _opening() -> Iterator[str]:
    runs = SKETCH["wiring"]["runs"]
    parts = [part for run in runs for part in (run, *run.get("branches", ()))]
    fixtures = sum(line["count"] for part in parts for line in part["fixtures"])
    yield f"# A garden of {fixtures} fixtures, from the sketch to the fault"
    yield _paragraph(
        f"The garden is made up: {len(runs)} runs and a branch, on one transformer with three taps. A"
        " person wrote [`sketch.json`](sketch.json), where the fixtures are and what they draw, and"
        " [`stock.json`](stock.json), what is on the shelf and what it costs, and"
        " [`prices.json`](prices.json), what else a quote charges. Every request below was"
        " made by a program from the replies before it and stands beside this page as it was sent. A test"
        " asks all of them again and compares this page with what is answered. The commands are run in"
        " this folder, with the service on 127.0.0.1:8080; [`garden.http`](garden.http) has the same"
        " requests for editors that send such files."
    )
    yield _paragraph(
        "Low voltage can still start a fire. Follow the code that applies where you are and the makers'"
        " instructions, and leave to a licensed electrician what is theirs."
    )


def _asked(title: str, step: Step) -> Iterator[str]:
    yield f"## {title}"
    address = f"http://127.0.0.1:8080/v1/{step.study}"
    yield f"```sh\ncurl -s {address} -H 'Content-Type: application/json' -d @{step.name}\n```"


def _cable(step: Step) -> Iterator[str]:
    yield _paragraph(
        "The sketch with the cables of the stock. Each run may have another cable (`scope` is `per-run`)"
        " and another tap (`taps` is `choose`)."
    )
    yield _quoted(step)
    taps = {row["pointer"]: row["tap"]["value"] for row in step.reply["taps"]}
    rows = []
    for row in step.reply["chosen"]:
        place = row["pointer"].removesuffix("/cable")
        tap = f"{taps[place]:g} V" if place in taps else "that of its run"
        name = at(step.request, place)["name"]
        rows.append([name, row["stock_id"], row["conductor"], _shown(row["length"]), tap])
    yield _table(["cable of", "from stock", "size", "length", "tap"], rows)


def _lamps(step: Step) -> Iterator[str]:
    yield _paragraph(
        "`wiring` and `judged_conditions` of the reply, posted as they are. `detail` is `fixtures`: the"
        " reply has the summary and a short row for each fixture, and the rest is left out. `margin` asks"
        " for the room that is left."
    )
    yield _quoted(step)
    rows = []
    for index, run in enumerate(step.request["wiring"]["runs"]):
        lamps = [row for row in step.reply["lamps"] if row["pointer"].startswith(f"/wiring/runs/{index}/")]
        volts = [row["voltage"]["value"] for row in lamps]
        rows.append([run["name"], f"{len(lamps)}", f"{min(volts):.2f} V", f"{max(volts):.2f} V"])
    yield _table(["run", "fixtures", "lowest at rated mains", "highest at rated mains"], rows)


def _transformer(step: Step) -> Iterator[str]:
    yield "The same job with the transformers of the stock."
    yield _quoted(step)
    best = step.reply["recommended"]
    price = f"{best['price']} {STOCK['currency']}"
    yield f"Recommended: {best['id']}, {_shown(best['rating'])}, {price}. Ruled out:"
    yield "\n".join(f"- {row['id']}: {row['reasons'][0]['message']}" for row in step.reply["rejected"])
    rows = [
        [circuit["name"], ", ".join(run["name"] for run in circuit["runs"]), _amperes(circuit["current"])]
        for circuit in step.reply["division"]["circuits"]
    ]
    yield _table(["circuit", "runs", "highest current"], rows)


def _bought(step: Step) -> Iterator[str]:
    rating = _shown(step.request["supply"]["winding"]["rating"])
    yield _paragraph(
        f"The same wiring behind the recommended transformer ({rating}, with its own regulation, taps and"
        " breakers), each run on the circuit that it was given."
    )
    yield _quoted(step)


def _quote(step: Step) -> Iterator[str]:
    yield _paragraph(
        "The same job with a supply that is named (`item`), the stock as the `catalogue`, and the rest of"
        " what is charged from `prices.json`. Cable is laid with slack, and the drop is solved for that. With"
        " `Accept: application/pdf` the same request gives the page for the customer, without a cost on it;"
        ' with `"sheet": {"for": "installer"}` what to take along and where to cut.'
    )
    yield _quoted(step)
    [bill] = step.reply["bills"]
    rows = [
        [line["name"], f"{line['quantity']} {line['unit_code']}", line["unit_price"], line["net"]]
        for line in bill["lines"]
    ]
    yield _table(["what", "quantity", "price", f"net, {step.reply['currency']}"], rows)
    taxes = " and ".join(
        f"{tax['tax']} {tax.get('name', 'tax')}" for tax in bill["taxes"] if tax["tax"] != "0.00"
    )
    yield f"Net {bill['net']}, {taxes}: {bill['total']} {step.reply['currency']}."


def _sheet(step: Step) -> Iterator[str]:
    yield _paragraph(
        f"On the day the mains are at {_shown(MAINS_OF_THE_DAY)}. With `Accept: application/pdf` the same"
        " request gives a sheet to write in, with `text/csv` a file to fill in."
    )
    yield _quoted(step)


def _check(step: Step) -> Iterator[str]:
    yield _paragraph(
        "With everything on, every place of the sheet is read. One joint of the driveway is corroded and has"
        " 0.4 ohm too much, out and back; nobody knows that yet."
    )
    yield _quoted(step)
    on_it = f"/wiring/runs/{DRIVEWAY}/"
    rows = [
        [row["where"], _volts(row["reading"]), _volts(row["predicted"]), row["verdict"]]
        for row in step.reply["readings"]
        if row.get("subject", {}).get("pointer", "").startswith(on_it)
    ]
    yield _table(["on the driveway", "read", "expected", "verdict"], rows)
    yield _paragraph(
        "Switch off, isolate, and open the joint that it names before anything is replaced. Remake it with a"
        " connector that is made for wet ground."
    )


def _after(step: Step) -> Iterator[str]:
    yield "The joint is remade, and the same places are read again."
    yield _quoted(step)


def _paragraph(text: str) -> str:
    return fill(text, WIDTH, break_long_words=False, break_on_hyphens=False)


def _quoted(step: Step) -> str:
    return f"> {step.reply['summary']['text']}"


def _table(head: list[str], rows: list[list[str]]) -> str:
    return "\n".join(f"| {' | '.join(row)} |" for row in (head, ["---"] * len(head), *rows))


def _shown(quantity: Json) -> str:
    return f"{quantity['value']:g} {quantity['unit']}"


def _volts(quantity: Json) -> str:
    return f"{quantity['value']:.2f} V"


def _amperes(quantity: Json) -> str:
    return f"{quantity['value']:.2f} A"
