"""The page in a real browser: what it shows, how soon, and how it looks when nothing comes."""

from __future__ import annotations

import json
import threading
import time
from dataclasses import replace

import pytest

from console import fake_picture
from deck.browser import PHONE, TABLET, Browser, chromium
from deck.cable import Cable
from deck.served import path_of, serving, shown
from sternwatch.cautions import COMPUTED
from sternwatch.deck.fan import Fan
from sternwatch.deck.server import Server, listen
from sternwatch.deck.shown import Turn
from sternwatch.watch.picture.model import FightPicture

TILES = "document.querySelectorAll('.tile .deep').length"
DEPTH_6 = "(document.querySelector('[data-key=\"6\"] .deep')||{}).textContent"


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    chromium()
    made = Browser(tmp_path_factory.mktemp("profile"))
    yield made
    made.close()


@pytest.fixture
def tab(browser):
    made = browser.tab(PHONE)
    yield made
    assert made.said == []
    made.close()


def url_of(server):
    return f"http://127.0.0.1:{server.port}{path_of(server)}"


def tell(server, picture, **fields):
    server.fan.shown = shown(picture, **fields)


def smallest_button(tab):
    return tab.ask(
        "Math.min(...[...document.querySelectorAll('button')].filter(b=>b.offsetParent)"
        ".map(b=>Math.min(b.offsetWidth,b.offsetHeight)))"
    )


def colours(tab):
    """Every colour that anything on the page is painted with."""
    script = (
        "JSON.stringify([...new Set([...document.querySelectorAll('body,body *')].flatMap(e=>{"
        "const s=getComputedStyle(e);return [s.color,s.backgroundColor,s.borderTopColor,s.fill,s.stroke]}))])"
    )
    return json.loads(tab.ask(script))


def test_rods_stand_in_the_sterns_order_and_the_first_depth_comes_soon(tab, tmp_path):
    with serving() as server:
        tab.open(url_of(server))
        assert tab.wait(f"{DEPTH_6}==='69'", 3.0) < 3.0
        left = [
            tab.ask(f"document.querySelector('[data-key=\"{key}\"]').getBoundingClientRect().left")
            for key in "12345678"
        ]
        assert len(set(left[:4])) == 1
        assert left[0] < left[7]
        tops = [
            tab.ask(f"document.querySelector('[data-key=\"{key}\"]').getBoundingClientRect().top") for key in "1845"
        ]
        assert tops[0] == tops[1] < tops[2] == tops[3]
        assert tab.ask("document.documentElement.scrollWidth<=innerWidth&&document.body.scrollHeight<=innerHeight")
        assert smallest_button(tab) >= 48
        assert COMPUTED in tab.ask("document.body.innerText")
        assert "DEMO" in tab.ask("document.body.innerText")
        assert tab.ask("document.querySelector('[data-key=\"6\"]').getAttribute('aria-label')") == (
            "6 S LOW, fishing, depth 69 ft, wanted 70, 50 °F, in the zone, hits 3"
        )
        tab.picture(tmp_path / "phone-sun.png")


def test_a_tap_opens_the_letting_out_page_and_a_fish_takes_over(tab, tmp_path):
    picture = fake_picture.troubled()
    with serving(shown(picture)) as server:
        tab.open(url_of(server))
        tab.wait(f"{TILES}===8&&row!==null", 3.0)
        tab.ask("document.querySelector('[data-key=\"2\"]').click()")
        said = tab.ask("document.getElementById('rod').innerText")
        assert all(
            words in said
            for words in ("2 P HIGH", "185 ft", "It reads 140 ft", "Setting: high", COMPUTED, "guarantee")
        )
        assert smallest_button(tab) >= 48
        tell(server, replace(picture, fights=(FightPicture("3", 30.0, 0.0, ("2", "1"), True),)), face="night")
        tab.wait("!document.getElementById('fish').hidden", 3.0)
        said = tab.ask("document.getElementById('fish').innerText")
        assert said.index("P LOW") < said.index("1. rod 2 P HIGH") < said.index("2. rod 1 P BOARD")
        assert "ball is still down" in said
        assert COMPUTED in said
        tab.picture(tmp_path / "phone-night-fish.png")
        tab.ask("document.getElementById('leave').click()")
        assert tab.ask("document.getElementById('fish').hidden")


def test_night_is_red_and_nothing_else_and_the_tablet_draws_every_line(browser, tmp_path):
    tab = browser.tab(TABLET)
    with serving(shown(fake_picture.turning(), face="night")) as server:
        tab.open(url_of(server))
        tab.wait("document.querySelectorAll('#beside .cord').length===8", 4.0)
        assert tab.ask("document.querySelectorAll('#above .cord').length") == 8
        assert tab.ask("document.body.scrollHeight<=innerHeight")
        for colour in colours(tab):
            parts = [float(part) for part in colour[colour.index("(") + 1 : -1].split(",")] if "(" in colour else []
            assert not parts or parts[1:3] == [0.0, 0.0], colour
        tab.picture(tmp_path / "tablet-night.png")
        tell(server, fake_picture.turning())
        tab.wait("document.documentElement.dataset.face==='sun'", 3.0)
        tab.picture(tmp_path / "tablet-sun.png")
    assert tab.said == []
    tab.close()


def test_without_news_the_digits_turn_grey_and_come_back_by_themselves(tab):
    fan = Fan()
    fan.shown = shown()
    server = Server(fan, "abcdefghjkmnpqrs", "127.0.0.1", listen("127.0.0.1", 0))
    tab.open(url_of(server))
    tab.wait(f"{DEPTH_6}==='69'", 3.0)
    assert not tab.ask("document.body.classList.contains('stale')") or tab.ask("age()") > 3.0
    server.stop()
    begun_s = time.monotonic()
    tab.wait("document.body.classList.contains('stale')", 4.0)
    assert time.monotonic() - begun_s < 3.5
    assert tab.ask("document.getElementById('stale').innerText").startswith("NO NEWS 3 s")
    grey = tab.ask("getComputedStyle(document.querySelector('[data-key=\"6\"] .deep')).color")
    assert grey == "rgb(166, 166, 166)"
    again = Fan()
    again.shown = shown(fake_picture.changed(fake_picture.straight(), "6", depth_m=24.0))
    back = Server(again, "abcdefghjkmnpqrs", "127.0.0.1", listen("127.0.0.1", server.port))
    try:
        again.shown = replace(again.shown, told_s=time.monotonic())
        assert tab.wait(f"{DEPTH_6}==='79'&&!document.body.classList.contains('stale')", 3.0) < 3.0
    finally:
        back.stop()


@pytest.mark.campaign
def test_a_network_that_was_lost_and_a_phone_that_slept_come_back_within_three_seconds(tab, capsys):
    fresh = "row!==null&&!document.body.classList.contains('stale')"
    with serving() as server:
        cable = Cable(server.port)
        server._hosts = (f"127.0.0.1:{cable.port}",)
        still = threading.Event()

        def helm():
            while not still.wait(0.25):
                server.fan.shown = shown()

        threading.Thread(target=helm, daemon=True).start()
        tab.open(f"http://127.0.0.1:{cable.port}{path_of(server)}")
        tab.wait(fresh, 3.0)
        lost, slept = [], []
        for seconds in (4.0, 7.3, 11.1):
            cable.cut()
            time.sleep(seconds)
            assert tab.ask("document.body.classList.contains('stale')")
            told = tab.ask("row.n")
            cable.mend()
            lost.append(tab.wait(f"{fresh}&&row.n>{told}", 5.0))
            tab.do("Page.setWebLifecycleState", state="frozen")
            time.sleep(seconds)
            assert tab.ask("row.n") < server.fan._number - 1  # it does sleep
            told = server.fan._number
            tab.do("Page.setWebLifecycleState", state="active")
            tab.do("Page.bringToFront")
            slept.append(tab.wait(f"{fresh}&&row.n>={told}", 5.0))
        still.set()
        cable.close()
    with capsys.disabled():
        told = (" ".join(f"{one:.2f}" for one in times) for times in (lost, slept))
        print("\nback after a lost network within {} s, after sleep within {} s".format(*told), end="")
    assert max(lost) < 3.0
    assert max(slept) < 3.0


# What bears a digit and is news: not the age itself, not what a rod is called, not a button that leads to one.
NOT_GREY = """(()=>{const found=[],walk=document.createTreeWalker(document.body,NodeFilter.SHOW_TEXT);
for(let n;n=walk.nextNode();){const e=n.parentElement;if(!/[0-9]/.test(n.data)||!e.getClientRects().length||
e.closest('.news,#age,.name,h1,.push,script,.heard,.lab,.tag'))continue;
const s=getComputedStyle(e),c=e.closest('svg')?s.fill:s.color;
if(c!=='rgb(166, 166, 166)'&&s.opacity>.5)found.push(n.data)}return JSON.stringify(found)})()"""


def test_a_helm_that_has_no_word_greys_every_digit_of_every_page(browser):
    tab = browser.tab(TABLET)
    picture = replace(fake_picture.turning(), alerts=fake_picture.troubled().alerts)
    fighting = replace(picture, fights=(FightPicture("3", 30.0, 0.0, ("2", "1"), True),))
    given = shown(picture, turn=Turn("port U-turn", time.monotonic() + 90.0))
    with serving(replace(given, told_s=given.told_s - 10.0)) as server:
        tab.open(url_of(server))
        tab.wait(f"{TILES}===8&&document.querySelectorAll('#beside .cord').length===8", 3.0)
        assert tab.ask("document.body.classList.contains('stale')")
        assert "NO NEWS 1" in tab.ask("document.getElementById('stale').innerText")
        assert json.loads(tab.ask(NOT_GREY)) == []
        tab.ask("document.querySelector('[data-key=\"2\"]').click()")
        assert "ft" in tab.ask("document.getElementById('want').innerText")
        assert json.loads(tab.ask(NOT_GREY)) == []
        server.fan.shown = replace(server.fan.shown, picture=fighting)
        tab.wait("!document.getElementById('fish').hidden", 3.0)
        assert json.loads(tab.ask(NOT_GREY)) == []
        tell(server, fighting)
        tab.wait("!document.body.classList.contains('stale')", 3.0)
        assert "1. rod 2 P HIGH" in json.loads(tab.ask(NOT_GREY))
    assert tab.said == []
    tab.close()


def test_a_row_that_was_under_way_for_long_is_as_old_as_it_is(tab):
    """A network that holds news back and then hands them on would else pass them off as new."""
    with serving() as server:
        tab.open(url_of(server))
        tab.wait(f"{DEPTH_6}==='69'", 3.0)
        come = "(late=>{const t=row.t;source.onmessage({data:JSON.stringify({...row,age:0,t:t-late})});return age()})"
        prompt_s, late_s = json.loads(tab.ask(f"JSON.stringify([{come}(0),{come}(5)])"))
        assert late_s - prompt_s == pytest.approx(5.0, abs=0.2)
        assert tab.ask("document.body.classList.contains('stale')")
        # The phone's clock goes back by an hour: nothing is newer by that.
        tab.ask("(()=>{const d=Date.now;Date.now=()=>d()-36e5})()")
        assert tab.ask("age()") >= 5.0


def test_what_changes_every_second_is_not_said_every_second(tab):
    """A screen reader is told an alert and a turn when their words change, and a turn's count by tens of seconds."""
    turn = Turn("port U-turn", time.monotonic() + 39.4)
    with serving(shown(fake_picture.troubled(), turn=turn)) as server:
        tab.open(url_of(server))
        tab.wait("document.getElementById('turn').innerText.startsWith('port U-turn in 3')", 3.0)
        heard = tab.ask("document.getElementById('heardturn').textContent")
        assert heard.startswith("port U-turn in 3")
        tab.wait(f"document.getElementById('turn').innerText!=='{heard}'", 3.0)
        assert tab.ask("document.getElementById('heardturn').textContent") == heard
        assert tab.ask("document.getElementById('heardalert').textContent").startswith(
            "alarm. Entries cannot be saved"
        )
        assert tab.ask("document.querySelectorAll('[role=alert] [aria-hidden]').length") == 4
        unnamed = tab.ask(
            "[...document.querySelectorAll('button')].filter(b=>!(b.getAttribute('aria-label')||b.innerText||b.id))"
            ".length"
        )
        assert unnamed == 0


@pytest.mark.parametrize("size", [(844, 390), (320, 568)], ids=["phone on its side", "small phone"])
def test_on_a_phone_that_is_low_or_small_nothing_lies_over_anything(browser, size):
    tab = browser.tab(size)
    with serving(shown(fake_picture.many(12))) as server:
        tab.open(url_of(server))
        tab.wait(f"{TILES}===12&&row!==null", 3.0)
        assert tab.ask("document.documentElement.scrollWidth<=innerWidth")
        assert tab.ask(
            "Math.max(...[...document.querySelectorAll('.tile')].map(e=>e.getBoundingClientRect().bottom))"
            "<=document.getElementById('hits').getBoundingClientRect().top"
        )
        assert smallest_button(tab) >= 48
    assert tab.said == []
    tab.close()
