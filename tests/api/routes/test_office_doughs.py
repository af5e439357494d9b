"""Doughs and products: typed, pasted and copied; totals that follow; faults at their cells."""

import re

import pytest

from tests.api.routes.test_office_start import Inputs

RYE = {
    "name": "dark rye",
    "dough_c": "28",
    "lines[0].material": "rye flour",
    "lines[0].percent": "60",
    "lines[1].material": "water",
    "lines[1].percent": "33",
    "lines[2].material": "salt",
    "lines[2].percent": "1,8",
    "steps[0].speed": "first speed",
    "steps[0].minutes": "8",
    "bulk.minutes": "40",
    "parts[0].kind": "scald",
    "parts[0].name": "rye scald",
    "parts[0].hold_min": "60",
    "parts[0].lines[0].material": "rye flour",
    "parts[0].lines[0].percent": "15",
    "parts[0].lines[1].material": "water",
    "parts[0].lines[1].percent": "30",
    "parts[1].kind": "preferment",
    "parts[1].name": "rye sour",
    "parts[1].seed_percent": "10",
    "parts[1].ripening.hours": "10",
    "parts[1].ripening.dough_c": "27",
    "parts[1].lines[0].material": "rye flour",
    "parts[1].lines[0].percent": "25",
    "parts[1].lines[1].material": "water",
    "parts[1].lines[1].percent": "20",
}
"""Flour 60 + 15 + 25 = 100; water 33 + 30 + 20 = 83, of which 30 in the scald; dough 184.8."""


def seen_in(page):
    return re.search(r'name="seen" value="(\w*)"', page)[1]


def fields_of(page):
    """What a browser would send of a page's form as it stands."""
    page = page.partition("<main")[2].partition("</main>")[0]
    found = re.findall(r'<input[^>]*?name="([^"]+)"[^>]*?value="([^"]*)"', page)
    selects = re.findall(r'<select[^>]*name="([^"]+)".*?</select>', page, re.DOTALL)
    chosen = {}
    for name in selects:
        body = page[page.index(f'name="{name}"') :].partition("</select>")[0]
        option = re.search(r'<option value="([^"]*)" selected', body)
        option = option or re.search(r'<option value="([^"]*)"', body)
        chosen[name] = option[1] if option else ""
    sent = {**dict(found), **chosen}
    return {name: text for name, text in sent.items() if "[999]" not in name and text}


@pytest.fixture
def weir(client, planned):
    assert planned
    return client


def test_a_dough_with_parts_is_stored_as_typed(weir):
    saved = weir.post("/bakery/weir/new-dough", data=RYE, follow_redirects=False)
    assert saved.headers["location"] == "/bakery/weir/doughs/dark_rye?saved=1", saved.text
    stored = weir.get("/api/v1/bakeries/weir/formulas/dark_rye").json()
    assert stored["lines"][2] == {"material": "salt", "percent": 1.8}
    assert [part["name"] for part in stored["parts"]] == ["rye scald", "rye sour"]


def test_totals_follow_what_is_typed_and_are_told_with_and_without_the_scald(weir):
    totals = weir.post("/bakery/weir/check-dough", data={**RYE, "scale_to": "36,96"}).text
    pairs = dict(re.findall(r"<dt>(.*?)</dt><dd><b>(.*?)</b></dd>", totals))
    assert pairs == {
        "flour": "100.0 %",
        "dough from 100 of flour": "184.8",
        "water of all flour": "83.0 %",
        "water without scalds and soakers": "53.0 %",
        "flour fermented ahead": "25.0 %",
        "salt": "1.8 %",
    }
    assert "It adds up." in totals
    # 36.96 kg of dough hold 20 kg of flour: the first line is 60 % of that
    assert '<th scope="row">rye flour</th><td class="n">12.00 kg</td>' in totals


def test_percents_that_do_not_add_up_are_told_in_words(weir):
    totals = weir.post("/bakery/weir/check-dough", data={**RYE, "lines[0].percent": "50"}).text
    assert "does not add up to 100 %" in totals
    assert "It adds up." not in totals


def test_a_wrong_cell_of_a_part_is_marked(weir):
    changed = {**RYE, "parts[1].lines[1].percent": "wet", "lines[1].percent": ""}
    refused = weir.post("/bakery/weir/new-dough", data=changed)
    assert refused.status_code == 422
    assert set(Inputs(refused.text).wrong) == {"parts[1].lines[1].percent", "lines[1].percent"}
    assert weir.get("/api/v1/bakeries/weir/formulas/dark_rye").status_code == 404


def test_what_a_page_shows_is_saved_unchanged(weir):
    """Opening a dough and saving it changes nothing, not even what the form does not show."""
    weir.post("/bakery/weir/new-dough", data=RYE)
    document = weir.get("/api/v1/bakeries/weir/formulas/dark_rye").json()
    document["bulk"] |= {"folds_min": [10], "by_progress": 1.3}
    document["parts"][0]["work_min"] = 12
    weir.put("/api/v1/bakeries/weir/formulas/dark_rye", json=document)
    page = weir.get("/bakery/weir/doughs/dark_rye").text
    weir.post("/bakery/weir/doughs/dark_rye", data=fields_of(page))
    assert weir.get("/api/v1/bakeries/weir/formulas/dark_rye").json() == document


def test_a_part_is_added_without_losing_what_is_typed(weir):
    shown = weir.post("/bakery/weir/new-dough", data={**RYE, "name": "new", "add": "soaker"})
    assert shown.status_code == 200
    names = Inputs(shown.text).names
    assert "parts[2].soak_h" in names
    assert 'value="new"' in shown.text
    assert weir.get("/api/v1/bakeries/weir/formulas/new").status_code == 404


def test_a_copy_starts_from_the_other_and_is_a_dough_of_its_own(weir):
    page = weir.get("/bakery/weir/new-dough?from=white").text
    assert 'value="white 2"' in page
    weir.post("/bakery/weir/new-dough", data=fields_of(page))
    copied = weir.get("/api/v1/bakeries/weir/formulas/white_2").json()
    original = weir.get("/api/v1/bakeries/weir/formulas/white").json()
    same = {key: one for key, one in original.items() if key not in {"id", "name"}}
    assert {key: copied[key] for key in same} == same


def test_two_who_edit_a_dough_lose_nothing(weir):
    page = weir.get("/bakery/weir/doughs/white").text
    mine = fields_of(page)
    weir.post("/bakery/weir/doughs/white", data={**mine, "dough_c": "26"})
    second = weir.post("/bakery/weir/doughs/white", data={**mine, "dough_c": "23"})
    assert second.status_code == 409
    assert "<td>26</td><td>23</td>" in second.text
    assert weir.get("/api/v1/bakeries/weir/formulas/white").json()["dough_c"] == 26
    again = {**mine, "dough_c": "23", "seen": seen_in(second.text)}
    weir.post("/bakery/weir/doughs/white", data=again)
    assert weir.get("/api/v1/bakeries/weir/formulas/white").json()["dough_c"] == 23


def test_doughs_are_read_from_a_list_all_or_none(weir):
    head = "dough\tmaterial\tpercent\tfirst_min\tdough_c\tbulk_min"
    good = f"{head}\nspelt\twheat flour\t100\t5\t25\t60\nspelt\twater\t62,5\n"
    saved = weir.post("/bakery/weir/import-doughs", data={"text": good}, follow_redirects=False)
    assert saved.status_code == 303
    stored = weir.get("/api/v1/bakeries/weir/formulas/spelt").json()
    assert stored["lines"][1]["percent"] == 62.5
    assert stored["steps"] == [{"speed": "first speed", "minutes": 5}]
    bad = f"{head}\nbun\twheat flour\t100\t5\t25\t60\ntart\tstone\t100\t5\t25\t60\n"
    refused = weir.post("/bakery/weir/import-doughs", data={"text": bad})
    assert refused.status_code == 422
    assert "tart.lines[0].material" in refused.text
    assert weir.get("/api/v1/bakeries/weir/formulas/bun").status_code == 404


def test_products_are_added_changed_and_taken_away_in_one_table(weir):
    page = weir.get("/bakery/weir/products").text
    sent = fields_of(page)
    assert sent["products[0].proof.minutes"] == "60"
    sent |= {
        "products[0].bake_min": "38",
        "products[1].name": "roll", "products[1].formula": "white", "products[1].piece_kg": "0,06",
        "products[1].proof.minutes": "50", "products[1].bake_min": "16",
        "products[1].pieces_per_place": "120",
    }  # fmt: skip
    assert weir.post("/bakery/weir/products", data=sent).status_code == 200
    roll = weir.get("/api/v1/bakeries/weir/products/roll").json()
    assert (roll["piece_kg"], roll["proof"]) == (0.06, [{"minutes": 50}])
    assert weir.get("/api/v1/bakeries/weir/products/loaf").json()["bake_min"] == 38
    again = fields_of(weir.get("/bakery/weir/products").text)
    without = {key: text for key, text in again.items() if not key.startswith("products[0]")}
    weir.post("/bakery/weir/products", data=without)
    assert weir.get("/api/v1/bakeries/weir/products/loaf").status_code == 404
    assert weir.get("/api/v1/bakeries/weir/products/roll").status_code == 200


def test_a_wrong_product_is_marked_in_its_row(weir):
    sent = fields_of(weir.get("/bakery/weir/products").text)
    refused = weir.post("/bakery/weir/products", data={**sent, "products[0].piece_kg": "big"})
    assert Inputs(refused.text).wrong == ["products[0].piece_kg"]
    refused = weir.post("/bakery/weir/products", data={**sent, "products[0].formula": "sand"})
    assert Inputs(refused.text).wrong == ["products[0].formula"]


@pytest.mark.parametrize("part", ["mixers", "water", "flour_stores", "rooms", "people", "ovens",
                                  "chambers", "vessels", "house"])  # fmt: skip
def test_each_part_of_the_setup_is_saved_as_it_is_shown(weir, part):
    before = weir.get("/api/v1/bakeries/weir").json()
    page = weir.get(f"/bakery/weir/setup/{part}").text
    sent = weir.post(f"/bakery/weir/setup/{part}", data=fields_of(page), follow_redirects=False)
    assert sent.headers["location"] == f"/bakery/weir/setup/{part}?saved=1"
    after = weir.get("/api/v1/bakeries/weir").json()
    if part == "house":
        before |= {"units": "metric", "papers": {"language": "en"}}
    for one in before.get(part, ()) if part != "house" else ():
        one.setdefault("id", one.get("name", one.get("kind")).lower())
    assert before == after


def test_a_mixer_with_another_name_stays_the_mixer_it_was(weir):
    sent = fields_of(weir.get("/bakery/weir/setup/mixers").text)
    weir.post("/bakery/weir/setup/mixers", data={**sent, "mixers[0].name": "old spiral"})
    (mixer,) = weir.get("/api/v1/bakeries/weir").json()["mixers"]
    assert (mixer["id"], mixer["name"]) == ("spiral_1", "old spiral")


def test_a_mixer_is_added_and_its_faults_stand_in_its_row(weir):
    sent = fields_of(weir.get("/bakery/weir/setup/mixers").text)
    sent |= {"mixers[1].name": "fork 40", "mixers[1].kind": "fork"}
    refused = weir.post("/bakery/weir/setup/mixers", data={**sent, "mixers[1].max_dough_kg": "-4"})
    assert Inputs(refused.text).wrong == ["mixers[1].max_dough_kg"]
    sent |= {"mixers[1].max_dough_kg": "40", "on": "water"}
    saved = weir.post("/bakery/weir/setup/mixers", data=sent, follow_redirects=False)
    assert saved.headers["location"] == "/bakery/weir/setup/water"
    names = [one["name"] for one in weir.get("/api/v1/bakeries/weir").json()["mixers"]]
    assert names == ["spiral 120", "fork 40"]
