"""The page that people hand over, read without a browser: it stands alone, it is in order, and it says what the text
and the JSON say. Figures worked out by hand are those of ``tests/test_page.py``; the rest is held against the JSON."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from optimizer.answers.answer import Answer
from optimizer.explain.explanation import Why
from optimizer.explain.infeasibility import Conflict, ConflictingLimit, ConflictSet
from optimizer.explain.rejections import Rejection
from optimizer.inputs.job_schema import KEYS
from optimizer.rules.limits import LIMITS
from optimizer.search.branch_and_bound import Pick, Status
from optimizer.vocabulary.defaults import DEFAULTS
from optimizer.writing.data.answer_json import document
from optimizer.writing.html.jobs import JobLine, jobs_html
from optimizer.writing.html.render import answer_html
from optimizer.writing.text.pick import page as text_page
from optimizer.writing.words.figures import DIGITS
from tests.command_line import run
from tests.sheets import ODD, THIN, Node, answer_of, example, odd, parsed, table

SECTIONS = [
    "Conditions", "Options side by side", "String map", "One-line drawing", "Limit bars", "Month chart", "What to buy",
    "Why not cheaper", "Limit sheet", "Inputs", "Cautions", "Not included", "Where this page comes from",
    "Commissioning card",
]  # fmt: skip
NUMBER = re.compile(r"-?\d[\d,]*(?:\.\d+)?")


@pytest.fixture(scope="module")
def thin() -> Answer:
    return answer_of(THIN / "job.toml", THIN / "catalog", beside=True)


@pytest.fixture(scope="module")
def nursery() -> Answer:
    return example("hillside-nursery")


@pytest.fixture(scope="module", params=["thin", "nursery"])
def told(request: pytest.FixtureRequest) -> tuple[Answer, Node, str]:
    """An answer, its page as a tree, and the page's text."""
    answer: Answer = request.getfixturevalue(request.param)
    text = answer_html(answer)
    return answer, parsed(text), text


# it stands alone -------------------------------------------------------------------------------------------------
BOTH = (ConflictingLimit("starting-surge", None, True), ConflictingLimit("budget", None, True))


def test_nothing_is_fetched_or_run(told: tuple[Answer, Node, str]) -> None:
    _, page, text = told
    assert not re.search(r"https?:|url\(|@import|javascript:|srcset|data:", text)
    assert not page.all("script", "link", "img", "iframe", "object", "embed", "base", "form", "use", "image")
    for node in page.walk():
        assert not [name for name in node.attributes if name.startswith("on") or name in ("src", "href", "xlink:href")]


def test_ids_are_unique_and_drawings_are_named(told: tuple[Answer, Node, str]) -> None:
    _, page, _ = told
    named = [node for node in page.walk() if "id" in node.attributes]
    ids = [node.attributes["id"] for node in named]
    assert len(ids) == len(set(ids))
    texts = {node.attributes["id"]: node for node in named}
    drawings = page.all("svg")
    assert len(drawings) >= 4
    for drawing in drawings:
        assert drawing.attributes["role"] == "img"
        title, description = (texts[name] for name in drawing.attributes["aria-labelledby"].split())
        assert (title.tag, description.tag) == ("title", "desc")
        assert title.text and description.text
        assert title in drawing.inside and description in drawing.inside


def test_headings_step_down_one_at_a_time(told: tuple[Answer, Node, str]) -> None:
    _, page, _ = told
    levels = [int(node.tag[1]) for node in page.all("h1", "h2", "h3", "h4")]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after <= before + 1 for before, after in zip(levels, levels[1:], strict=False))
    assert page.all("html")[0].attributes["lang"] == "en"
    assert page.all("title")[0].text.startswith(told[0].job.title)


def test_tables_have_captions_and_scopes(told: tuple[Answer, Node, str]) -> None:
    _, page, _ = told
    for node in page.all("table"):
        assert node.all("caption")[0].text
        heads = node.all("thead")[0].all("th")
        assert all(head.attributes["scope"] == "col" and head.text for head in heads)
        for row in node.all("tbody")[0].all("tr"):
            cells = row.all("th", "td")
            assert len(cells) == len(heads)
            assert cells[0].tag == "th" and cells[0].attributes["scope"] == "row" and cells[0].text


def test_the_sections_come_in_order(told: tuple[Answer, Node, str]) -> None:
    _, page, _ = told
    found = [node.text for node in page.all("h2")]
    assert found == [name for name in SECTIONS if name in found]
    assert set(SECTIONS) - set(found) <= {"Conditions"}


# it says what the others say -------------------------------------------------------------------------------------


def flat(text: str) -> set[str]:
    """The words of a text that hold a figure, without what stands round them."""
    words = (word.strip("()[];:.,$") for word in text.replace("\N{NO-BREAK SPACE}", " ").split())
    return {word for word in words if any(sign.isdigit() for sign in word)}


def test_every_figure_of_the_text_stands_on_the_page(told: tuple[Answer, Node, str]) -> None:
    answer, page, _ = told
    said = re.sub(r"-\n\s*", "-", text_page(answer, every_limit=True))
    missing = flat(said) - flat(page.text)
    # an option's strings are joined to its panels by a line break in the text's table
    assert not {word for word in missing if word not in page.text}


def test_money_is_the_documents(told: tuple[Answer, Node, str]) -> None:
    answer, page, _ = told
    json_answer = json.loads(document(answer))
    bundle = json_answer["bundles"][0]
    sellers = {each["seller"]: float(each["cost"]) for each in bundle["freight"]}
    lines = [
        (line["seller"], purchase["part"], line["quantity"], line["unit_price"])
        for purchase in bundle["purchases"] for line in purchase["lines"]
    ]  # fmt: skip
    shown, place = [], 1
    for seller in sorted(sellers):
        bought = table(page, f"buy-{place}")
        place += 1
        assert bought.caption == seller
        subtotal = sellers[seller]
        for part, box, pieces, each, cost in bought.rows:
            assert box == ""
            if part not in ("freight", "subtotal"):
                part = part.partition(" ")[0]
                shown.append((seller, part, int(pieces.replace(",", "")), each.replace(",", "")))
                subtotal += float(cost.replace(",", ""))
        assert bought.row("subtotal")[bought.heads[-1]].replace(",", "") == f"{subtotal:.2f}"
        if sellers[seller]:
            assert bought.row("freight")[bought.heads[-1]].replace(",", "") == f"{sellers[seller]:.2f}"
    assert sorted(shown) == sorted(lines)
    totals = [total.replace(",", "") for total in table(page, "options").column("total")]
    assert totals == [each["total"] for each in json_answer["bundles"]]
    assert f"{float(bundle['total']):,.2f} delivered" in page.text


def test_limits_are_the_documents(told: tuple[Answer, Node, str]) -> None:
    """Both sides of every limit, to the digits that are printed; temperatures and areas may be in other units."""
    answer, page, _ = told
    sheet = table(page, "limits")
    limits = json.loads(document(answer))["bundles"][0]["limits"]
    assert sheet.column("limit") == [each["limit"] for each in limits]
    compared = 0
    for each in limits:
        row = sheet.row(each["limit"])
        assert row["source"] == LIMITS[each["limit"]].source
        assert row["result"].startswith("ok") and "FAIL" not in row["result"]
        digits = DIGITS.get(each["unit"], 0)
        if each["unit"] in ("degC", "m2", "L", "") or LIMITS[each["limit"]].sense == "holds":
            continue
        figures = {float(found.replace(",", "")) for found in NUMBER.findall(row["result"])}
        for side in ("value", "allowed"):
            if each[side] is not None and not (each["value"] == each["allowed"] == 1):
                shown = int(each[side] * 100 + 1e-6) / 100 if each["unit"] == "d" else round(each[side], digits)
                assert shown in {round(figure, digits) for figure in figures}, each
                compared += 1
    assert compared >= 40


def test_lists_are_the_documents(told: tuple[Answer, Node, str]) -> None:
    answer, page, _ = told
    json_answer = json.loads(document(answer))
    items = {item.text for item in page.all("li")}
    assert set(json_answer["conditions"]) <= items | {f"option 1: {text}" for text in items} | {
        text for text in json_answer["conditions"] if re.match(r"option [2-9]", text)
    }
    assert set(json_answer["estimated"] or ["nothing"]) <= items
    own = {text for text in json_answer["taken_as"] if text in items}
    assert len(own) >= 8
    hashes = {term.inside[0]: value.text for term, value in zip(page.all("dt"), page.all("dd"), strict=True)}
    assert hashes["job"] == json_answer["inputs"]["job"]
    assert hashes["catalogue"] == json_answer["inputs"]["catalog"]
    assert json_answer["bundles"][0]["limits"]


def test_drawings_show_the_documents_strings(told: tuple[Answer, Node, str]) -> None:
    """Every panel of every string is drawn once, on the tracker that carries it."""
    answer, page, _ = told
    for strings in json.loads(document(answer))["bundles"][0]["strings"]:
        name = f"map-{strings['tracker']}"
        drawings = [d for d in page.all("svg") if re.fullmatch(rf"{name}(-\d+)?-title .*",
                                                               d.attributes["aria-labelledby"])]  # fmt: skip
        assert drawings
        drawn = [text.text for drawing in drawings for text in drawing.all("text") if text.text.isdigit()]
        once = [str(panel) for panel in range(1, strings["series"] + 1)]
        assert drawn == once * strings["parallel"]


def test_cautions_are_never_left_out(told: tuple[Answer, Node, str]) -> None:
    _, page, _ = told
    for words in ("A plan, no permission", "dangerous DC", "back-feed can kill", "hand pump"):
        assert words in page.text


def test_the_same_answer_gives_the_same_bytes(thin: Answer) -> None:
    assert answer_html(thin) == answer_html(thin)


# by hand ---------------------------------------------------------------------------------------------------------


def test_the_commissioning_card_by_hand(thin: Answer) -> None:
    page = parsed(answer_html(thin))
    volts = table(page, "volts")
    # -0.27 %/degC of 37.3 V: 14 degF is -10 degC: 8 x 37.3 x 1.0945 = 326.6 V, 6: 244.9 V (244.95 and a hair less);
    # 40 degF is 4.444 degC: 1.0555, 8: 315.0 V; 104 degF is 40 degC: 0.9595, 8: 286.3 V
    assert volts.heads == ["panels at", "8 in series (tracker 1)", "6 in series (tracker 2)"]
    assert volts.rows[0] == ["14 degF", "326.6 V", "244.9 V"]
    assert volts.row("40 degF")["8 in series (tracker 1)"] == "315.0 V"
    assert volts.rows[-1][:2] == ["104 degF", "286.3 V"]
    assert volts.column("panels at") == ["14 degF", *(f"{at} degF" for at in range(20, 101, 20)), "104 degF"]
    # the pump is clamped at 41 A; (10,020 W / 0.92 + 40 W) / 44.8 V = 244.0 A, at 51.2 V 213.5 A; 10 gpm
    starts = table(page, "starts").row("bore pump")
    assert starts["starts"] == "41.0 A"
    assert table(page, "bank").rows == [["bore pump", "213.5 A", "244.0 A", ""]]
    assert table(page, "flow").rows == [["bore pump", "10 gpm", ""]]
    assert table(page, "strings").column("string") == ["string 1.1, 8 in series", "string 2.1, 6 in series"]


def test_a_card_in_metric_units(tmp_path: Path) -> None:
    text = (THIN / "job.toml").read_text()
    for us, own in (("14 degF", "-9 degC"), ("10 gpm", "38 L/min"), ("2400 gal", "9000 L")):
        assert us in text
        text = text.replace(us, own)
    (tmp_path / "job.toml").write_text(text)
    page = parsed(answer_html(answer_of(tmp_path / "job.toml", THIN / "catalog")))
    assert table(page, "volts").column("panels at") == ["-9 degC", "0 degC", "10 degC", "20 degC", "30 degC", "40 degC"]
    assert table(page, "flow").rows == [["bore pump", "38 L/min", ""]]


def test_inputs_are_shown_as_written_and_converted(thin: Answer) -> None:
    inputs = table(parsed(answer_html(thin)), "inputs")
    assert inputs.row("site.coldest")["as written"] == "14 degF"
    assert inputs.row("site.coldest")["as read"] == "-10 degC"
    # 10 gal/min x 3.785411784 L x 60 = 2,271.247 L/h
    assert inputs.row("load.bore pump.flow")["as read"] == "2,271.247 L/h"
    assert inputs.row("load.bore pump.running")["as read"] == ""
    assert set(inputs.column("key")) == {key for key in thin.job.written if key not in ("title", *(
        f"load.{load.name}.name" for load in thin.job.loads))}  # fmt: skip


def test_the_months_by_hand(thin: Answer) -> None:
    """The tightest month's figures times its sun are those of the chart: kWh = W x h / 1000."""
    page = parsed(answer_html(thin))
    worst = thin.options[0].audit.reading("daily-energy")
    sun = thin.job.site.sun_hours[11]
    assert worst.where == "December"
    row = table(page, "month-table").row("December")
    assert row["asked of the array"] == f"{worst.allowed * sun / 1000:.1f}"
    assert row["made by it"] == f"{worst.value * sun / 1000:.1f}"
    chart = next(d for d in page.all("svg") if d.attributes["aria-labelledby"].startswith("months-"))
    assert f"tightest: December, asks {row['asked of the array']}, makes {row['made by it']} kWh" in chart.text
    assert len(chart.all("rect")) == 2 + 2 * 12


# what a person typed stays text ----------------------------------------------------------------------------------


def test_what_is_typed_stays_text() -> None:
    part, title, load = ODD["part"], " ".join(ODD["title"].split()), ODD["load"]
    page = parsed(answer_html(odd()))
    assert not page.all("b", "i", "script")
    assert page.all("h1")[0].text == title
    assert part in table(page, "options").rows[0][3]
    assert part in [row[0] for row in table(page, "buy-1").rows]
    assert table(page, "loads").rows[0][0] == load
    drawn = next(d for d in page.all("svg") if d.attributes["aria-labelledby"].startswith("one-line"))
    assert part in drawn.text and load in drawn.text


# a job that nothing meets, and a search that was stopped ------------------------------------------------------------


def test_nothing_meets_the_job(thin: Answer) -> None:
    from dataclasses import replace

    why = Conflict(
        (Rejection("leg-balance", "converter", 29, 40),),
        (ConflictSet(BOTH, True, ""),), (), 3, ("conflict",),
    )  # fmt: skip
    nothing = replace(thin, pick=Pick(Status.NONE, (), (), thin.pick.proof), options=(), why=Why(conflict=why))
    page = parsed(answer_html(nothing))
    assert "No bundle meets this job" in page.text and "Proven." in page.text
    assert table(page, "rejected").rows[0][:2] == ["leg-balance", "29 of 40 converters"]
    assert table(page, "clash-0").column("limit") == ["starting-surge", "budget"]
    assert "No wish, measure or reserve of this job" in page.text
    assert "not all is known of: conflict" in page.text
    assert "A safety limit is never a way out." in page.text
    assert not page.all("svg")


def test_stopped_before_any_bundle(thin: Answer) -> None:
    from dataclasses import replace

    stopped = replace(thin, pick=Pick(Status.STOPPED, (), (), replace(thin.pick.proof, next_bound=500000)), options=(),
                      why=Why())  # fmt: skip
    page = parsed(answer_html(stopped))
    assert "No bundle found in the time allowed" in page.text
    assert "costs $5,000.00 or more" in page.text


# several jobs ----------------------------------------------------------------------------------------------------


def test_several_jobs_lead_to_their_pages() -> None:
    lines = [
        JobLine("orchard", "same", "6,120.00", "6,120.00", "no part of it moved", "orchard.html"),
        JobLine("<b>mill", "lost", "9,000.00", "", "cv-8k: no seller", ""),
        JobLine("dam", "dearer", "1.00", "2.00", "", "javascript:alert(1)/a b?#.html"),
    ]
    page = parsed(jobs_html("Prices of November", ("3 jobs: 2 answered.",), lines, "USD"))
    jobs = table(page, "jobs")
    assert jobs.heads == ["job", "result", "before", "after", "what changes"]
    assert jobs.rows[0] == ["orchard", "same", "6,120.00", "6,120.00", "no part of it moved"]
    assert jobs.column("job") == ["orchard", "<b>mill", "dam"]
    assert [link.attributes["href"] for link in page.all("a")] == [
        "orchard.html", "javascript%3Aalert%281%29/a%20b%3F%23.html"
    ]  # fmt: skip


# formulas --------------------------------------------------------------------------------------------------------


def test_every_limit_has_a_formula() -> None:
    assert all(limit.formula for limit in LIMITS.values())


def test_the_names_of_the_formulas_are_known() -> None:
    """Every name with an underline is a column, a key of the job, or a figure of a limit's working."""
    from catalog.tables import TABLES

    known = {column.name for spec in TABLES.values() for column in spec.columns}
    known |= {key for keys in KEYS.values() for key in keys} | {name.partition(".")[2] for name in DEFAULTS}
    known |= {slot for limit in LIMITS.values() for slot in re.findall(r"\{(\w+)", limit.working)}
    # said of a start or of the bank without a figure of its own in a working
    known |= {"start_w", "max_l"}
    for limit in LIMITS.values():
        unknown = {name for name in re.findall(r"[a-z]+(?:_[a-z0-9]+)+", limit.formula) if name not in known}
        assert not unknown, f"{limit.name}: {unknown}"


# the commands ----------------------------------------------------------------------------------------------------


def test_pick_writes_the_page_whole(tmp_path: Path) -> None:
    target = tmp_path / "page.html"
    done = run("pick", str(THIN / "job.toml"), "--catalog", str(THIN / "catalog"), "--page", str(target))
    assert done.exit_code == 0
    page = parsed(target.read_text(encoding="utf-8"))
    assert "$7,755.00 delivered" in page.text
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]
    assert "Proven cheapest" in done.stdout


def test_a_page_in_no_folder_is_refused_before_anything_is_solved(tmp_path: Path) -> None:
    done = run("pick", str(THIN / "job.toml"), "--page", str(tmp_path / "none" / "page.html"))
    assert done.exit_code == 2
    assert "there is no folder" in done.stderr


def test_the_page_shows_the_option_that_is_asked_for(nursery: Answer) -> None:
    page = parsed(answer_html(nursery, 2))
    bundle = json.loads(document(nursery))["bundles"][1]
    assert f"Option 2: ${float(bundle['total']):,.2f} delivered" in page.text
    shown = table(page, "limits").row("cold-voltage")["result"]
    value = next(each["value"] for each in bundle["limits"] if each["limit"] == "cold-voltage")
    assert f"{value:.1f} V" in shown


def test_templates_are_loaded_for_a_page_alone() -> None:
    """A pick without --page loads nothing of the page, and so no template library of its own accord."""
    code = (
        "import sys\nfrom optimizer.commands import main\n"
        f"sys.argv = ['borewatt', 'pick', {str(THIN / 'job.toml')!r}, '--catalog', {str(THIN / 'catalog')!r}]\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code, end.code\n"
        "print('LOADED', sorted(name for name in sys.modules if name.startswith('optimizer.writing.html')))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=THIN.parent.parent.parent, capture_output=True, text=True,
                          check=True)  # fmt: skip
    assert done.stdout.splitlines()[-1] == "LOADED []"
