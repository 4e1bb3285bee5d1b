"""Who may ask the explorer: hosts, tokens, cookies, other sites, sizes; and the headers of every answer."""

from __future__ import annotations

import html
import re

import pytest

from dashboard import access
from dashboard.app import addresses, build, serve
from materials.errors import InputError

TOKEN = "a-Harbour.Wall_17~x"
PLACES = ("/", "/_dash-layout", "/_dash-dependencies", "/print?wall=W-001", "/assets/page.js", access.ALIVE, "/nothing")


@pytest.fixture(scope="module")
def open_here(workspace):
    return build(workspace).server


@pytest.fixture(scope="module")
def guarded(workspace):
    return build(workspace, TOKEN).server


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.5", "::1", "localhost", "LocalHost"])
def test_on_this_machine_alone_no_token_is_asked(host):
    assert access.token_for(host) is None


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.168.1.7", "wall.example", "127.0.0.1.wall.example", ""])
def test_where_others_reach_it_each_start_has_a_token_of_its_own(host):
    one, other = access.token_for(host), access.token_for(host)
    assert one != other
    assert access.own_token(one) == one
    assert len(one) >= 40


@pytest.mark.parametrize(
    ("token", "why"),
    [
        ("", "cannot carry"),
        ("fifteen-letters", "15 characters can be guessed"),
        ("aaaaaaaaaaaaaaaaaaaaaaaa", "only 1 different"),
        ("abcabcabcabcabcabcabc", "only 3 different"),
        ("with a space in it, too", "cannot carry"),
        ("ein-schlüssel-für-uns", "cannot carry"),
        ("x&wall=W-001&token=abcdefgh", "cannot carry"),
        ("line\nbreak-in-the-token", "cannot carry"),
        ("abcdefgh" * 30, "cannot carry"),
    ],
)
def test_a_weak_token_is_refused_with_what_was_expected(token, why):
    with pytest.raises(InputError, match=why) as refused:
        access.token_for("127.0.0.1", token)
    assert "at least 16" in str(refused.value)
    assert not token or token not in str(refused.value)


def test_a_token_of_ones_own_holds_on_this_machine_too():
    assert access.token_for("127.0.0.1", TOKEN) == TOKEN


@pytest.mark.parametrize("place", PLACES)
def test_without_the_token_nothing_is_answered(guarded, place):
    answer = guarded.test_client().get(place)
    assert answer.status_code == 401
    text = answer.get_data(as_text=True)
    assert "behind a token" in text
    assert TOKEN not in text
    assert "Set-Cookie" not in answer.headers
    assert guarded.test_client().post("/_dash-update-component", json={}).status_code == 401


@pytest.mark.parametrize("wrong", ["", "x", TOKEN[:-1], TOKEN + "x", TOKEN.swapcase(), "ü" * 20, TOKEN + "\x00"])
def test_a_wrong_token_or_cookie_is_no_token(guarded, wrong):
    client = guarded.test_client()
    assert client.get("/", query_string={"token": wrong}).status_code == 401
    client.set_cookie("wallfront-80", wrong)
    assert client.get("/").status_code == 401


def test_the_token_itself_is_no_cookie(guarded):
    client = guarded.test_client()
    client.set_cookie("wallfront-80", TOKEN)
    assert client.get("/").status_code == 401


def test_the_address_with_the_token_opens_the_explorer_once_for_all(guarded):
    client = guarded.test_client()
    first = client.get("/", query_string={"token": TOKEN, "wall": "W-001", "run": "0003"})
    text = first.get_data(as_text=True)
    assert first.status_code == 200
    cookie = first.headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert TOKEN not in cookie
    assert TOKEN not in text
    onward = html.unescape(re.search(r'content="0; url=([^"]+)"', text).group(1))
    assert onward == "/?wall=W-001&run=0003"
    for place in ("/", "/_dash-layout", "/assets/page.js", onward):
        assert client.get(place).status_code == 200
    assert guarded.test_client().get("/").status_code == 401  # another browser has no cookie


@pytest.mark.parametrize("place", ["//evil.example/", "/\\evil.example/", '/"><script>', "/%0d%0aSet-Cookie:x=y"])
def test_the_way_on_never_leads_to_another_machine(guarded, place):
    answer = guarded.test_client().get("http://localhost" + place, query_string={"token": TOKEN})
    onward = html.unescape(re.search(r'content="0; url=([^"]+)"', answer.get_data(as_text=True)).group(1))
    assert re.match(r"/(?![/\\])", onward)
    assert not set('"<>\\\r\n') & set(onward)


def test_a_link_in_a_message_asks_again_from_its_own_page(guarded):
    answer = guarded.test_client().get("/?run=0001&wall=W-004", headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 401
    assert 'url=/?run=0001&amp;wall=W-004"' in answer.get_data(as_text=True)
    again = guarded.test_client().get("/?run=0001&wall=W-004", headers={"Sec-Fetch-Site": "same-origin"})
    assert "http-equiv" not in again.get_data(as_text=True)


@pytest.mark.parametrize("host", ["localhost", "localhost:8050", "127.0.0.1:8050", "[::1]:8050", "LOCALHOST:1"])
def test_this_machine_is_answered_by_its_names(open_here, host):
    assert open_here.test_client().get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:8050", "127.0.0.1.evil.example", "192.168.1.7", "[::1", "localhost.evil", "a@b"],
)
def test_a_name_that_was_pointed_here_is_refused(open_here, host):
    answer = open_here.test_client().get("/", headers={"Host": host})
    assert answer.status_code == 403
    assert "on this machine only" in answer.get_data(as_text=True)


def test_another_sites_page_changes_nothing(open_here, guarded):
    for server in (open_here, guarded):
        answer = server.test_client().post(
            "/_dash-update-component", data="{}", headers={"Origin": "http://evil.example"}, content_type="text/plain"
        )
        assert answer.status_code == 403
    own = open_here.test_client().post("/_dash-update-component", json={}, headers={"Origin": "http://localhost"})
    assert own.status_code != 403


def test_a_request_too_large_is_told_in_words(open_here):
    most = open_here.config["MAX_CONTENT_LENGTH"]
    assert most == access.LARGEST_REQUEST
    client = open_here.test_client()
    answer = client.post("/_dash-update-component", data=b"x" * (most + 1), content_type="application/json")
    assert answer.status_code == 413
    assert "32 MB" in answer.get_data(as_text=True)


def test_the_policy_lets_no_inline_script_run_but_the_starter(open_here):
    answer = open_here.test_client().get("/")
    rules = dict(part.split(" ", 1) for part in answer.headers["Content-Security-Policy"].split("; "))
    assert rules["default-src"] == "'none'"
    assert "unsafe" not in rules["script-src"]
    assert len(re.findall(r"'sha256-", rules["script-src"])) >= 1
    for name in ("object-src", "worker-src", "frame-ancestors", "base-uri"):
        assert rules[name] == "'none'"
    assert rules["connect-src"] == rules["form-action"] == "'self'"


@pytest.mark.parametrize("place", PLACES)
def test_every_answer_has_the_headers(open_here, guarded, place):
    for server in (open_here, guarded):
        headers = server.test_client().get(place).headers
        assert "script-src 'self'" in headers["Content-Security-Policy"]
        assert "http" not in headers["Content-Security-Policy"]
        for name, value in access.HEADERS.items():
            assert headers[name] == value


def test_serving_others_without_a_token_is_refused(study_folder):
    with pytest.raises(InputError, match="expected a token"):
        serve(study_folder, 8050, "0.0.0.0")


def test_the_addresses_carry_the_token_and_name_this_machine_first():
    assert addresses("127.0.0.1", 8050) == ["http://127.0.0.1:8050"]
    assert addresses("::1", 8050, TOKEN) == [f"http://[::1]:8050/?token={TOKEN}"]
    here, *elsewhere = addresses("0.0.0.0", 8050, TOKEN)
    assert here == f"http://127.0.0.1:8050/?token={TOKEN}"
    assert all(each.endswith(f":8050/?token={TOKEN}") and "0.0.0.0" not in each for each in elsewhere)
