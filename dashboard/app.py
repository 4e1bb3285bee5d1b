"""The explorer as an application: `create_app` builds it, `serve` runs it on this machine."""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

os.environ.setdefault("DASH_DISABLE_VERSION_CHECK", "1")

from dash import Dash, set_props
from flask import Response, jsonify, request

from materials.errors import InputError
from optimiser.handover.drawing.sheet import palette

from . import access, numbers
from .callbacks import (
    break_even_table,
    compare_view,
    comparing,
    conduction_fold,
    front_grid,
    judgement_working,
    list_uploads,
    locks,
    my_wall_upload,
    notes,
    place,
    plot_drawing,
    question_nouns,
    saved_limits,
    search_progress,
    shortlist_strip,
    slot_switches,
    supplier_choice,
    supplier_fronts,
    swaps_panel,
    wall_files,
    wall_panel,
    weights,
)
from .front.glance import glance
from .layout import page
from .server import ExplorerServer
from .wall.print_page import missing_sheet, unreadable_sheet, wall_sheet

LOADING = """<div id="react-entry-point"><div class="opening" role="status"><b>wallfront</b>
<p>Opening the study…</p></div></div>
<noscript><p class="opening">The explorer draws with JavaScript, which this browser does not run. The study is plain
files: front.csv opens in any spreadsheet.</p></noscript>"""


TIED = (
    place,
    search_progress,
    slot_switches,
    question_nouns,
    plot_drawing,
    locks,
    saved_limits,
    weights,
    front_grid,
    wall_panel,
    wall_files,
    judgement_working,
    conduction_fold,
    my_wall_upload,
    shortlist_strip,
    notes,
    compare_view,
    list_uploads,
    comparing,
    supplier_fronts,
    supplier_choice,
    break_even_table,
    swaps_panel,
)


class Explorer(Dash):
    """Dash with words of our own until the page is there."""

    def interpolate_index(self, **parts: str) -> str:
        whole = super().interpolate_index(**parts | {"app_entry": LOADING})
        return whole.replace("<html ", f"<html {numbers.page_marks()} ", 1)


def told_in_the_page(error: Exception) -> None:
    """A file of the study that cannot be read is told where searches are told of; anything else stays a fault."""
    if not isinstance(error, InputError):
        raise error
    set_props("status-head", {"children": "This cannot be shown"})
    set_props("status-words", {"children": str(error)})
    set_props("status-line", {"hidden": False})


def create_app(study_folder: Path | None, runs_folder: Path, token: str | None = None) -> Dash:
    """The explorer on a study folder; searches started from it live in `runs_folder`."""
    from .workspace import Workspace

    return build(Workspace(study_folder, runs_folder), token)


def build(workspace: Any, token: str | None = None) -> Dash:
    """The explorer over a workspace (or anything that answers as one); with a token, only for who knows it."""
    app = Explorer(
        "dashboard",
        title="wallfront",
        update_title=None,
        assets_folder=str(Path(__file__).parent / "assets"),
        on_error=told_in_the_page,
    )
    app.index_string = _index()
    app.layout = page
    for part in TIED:
        part.register(app, workspace)
    _routes(app, workspace)
    access.guard(app.server, token, access.policy(app.csp_hashes()))
    numbers.follow(app.server, workspace)
    return app


def _index() -> str:
    """The page around the application, with the palette of the drawings as its colours."""
    dark = palette.custom_properties(palette.DARK)
    colours = (
        f":root{{{palette.custom_properties(palette.LIGHT)}}}"
        f"@media (prefers-color-scheme:dark){{:root{{{dark}}}}}"
        f':root[data-theme="light"]{{{palette.custom_properties(palette.LIGHT)}}}'
        f':root[data-theme="dark"]{{{dark}}}'
    )
    return (
        '<!DOCTYPE html><html lang="en"><head>{%metas%}<title>{%title%}</title>{%favicon%}{%css%}'
        f"<style>{colours}</style>"
        "</head><body>{%app_entry%}<footer>{%config%}{%scripts%}{%renderer%}</footer></body></html>"
    )


def _routes(app: Dash, workspace: Any) -> None:
    server = app.server

    @server.errorhandler(InputError)
    def unreadable(error: InputError) -> Response:
        return Response(unreadable_sheet(str(error)), status=422, mimetype="text/html")

    @server.route("/print")
    def print_view() -> Response:
        run, chosen = request.args.get("run") or None, request.args.get("wall") or ""
        judged = workspace.wall(run, chosen)
        if judged is None:
            return Response(missing_sheet(chosen), status=404, mimetype="text/html")
        source = workspace.source(run)
        lost = workspace.floor_lost(judged.thickness_mm, source.brief)
        return Response(wall_sheet(judged, chosen, source, lost), mimetype="text/html")

    @server.route("/glance")
    def at_a_glance() -> Response:
        facts = glance(workspace, request.args.get("run") or None, request.args.get("wall") or "")
        return jsonify(facts) if facts else Response(status=404)

    @server.route("/handover")
    def hand_over() -> Response:
        run, chosen = request.args.get("run") or None, request.args.get("wall") or ""
        study = workspace.source(run).study
        if study is None or workspace.wall(run, chosen) is None:
            return Response(missing_sheet(chosen), status=404, mimetype="text/html")
        from .wall.handover_archive import archive

        packed = Response(archive(study, chosen), mimetype="application/zip")
        packed.headers["Content-Disposition"] = f'attachment; filename="{chosen}-handover.zip"'
        return packed


def serve(
    study_folder: Path | None,
    port: int,
    host: str = "127.0.0.1",
    runs_folder: Path | None = None,
    on_ready: Callable[[], None] | None = None,
    token: str | None = None,
) -> None:
    """Run the explorer until it is interrupted, `on_ready` once it answers; InputError when the port is taken.

    token: what an address must bring (see access.token_for); without one, `host` must be this machine alone.
    """
    if token is None and not access.is_this_machine(host):
        raise InputError(f"{host}: can be reached from other machines; expected a token")
    listening = listen(host, port)
    try:
        app = create_app(study_folder, runs_folder or _beside(study_folder), token)
        server = ExplorerServer(app.server, listening)
        try:
            if on_ready is not None:
                on_ready()
            server.run()
        finally:
            server.end()
    finally:
        listening.close()


def check_port(port: int, host: str = "127.0.0.1") -> None:
    """InputError when the port cannot be had: asked before a search rather than after it."""
    listen(host, port).close()


def _beside(study_folder: Path | None) -> Path:
    """Where searches started from a study go."""
    return study_folder.with_name(f"{study_folder.resolve().name}-runs") if study_folder else Path("wallfront-runs")


def listen(host: str, port: int) -> socket.socket:
    """A listening socket on the port; InputError when it cannot be had."""
    listening = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
        listening.listen(128)
    except (OSError, OverflowError, UnicodeError) as error:
        listening.close()
        raise InputError(_why(error, host, port)) from None
    return listening


def addresses(host: str, port: int, token: str | None = None) -> list[str]:
    """Where the explorer can be opened: first from this machine, then from others; the token in each."""
    wild = host in ("0.0.0.0", "::")
    names = ["127.0.0.1" if host == "0.0.0.0" else "::1", *_of_this_machine(host)] if wild else [host]
    query = f"/?token={token}" if token else ""
    return [f"http://{f'[{name}]' if ':' in name else name}:{port}{query}" for name in names]


def _of_this_machine(host: str) -> list[str]:
    """The address others know this machine by; nothing is sent to find it."""
    family, far = (socket.AF_INET6, "2001:db8::1") if ":" in host else (socket.AF_INET, "192.0.2.1")
    try:
        with socket.socket(family, socket.SOCK_DGRAM) as asking:
            asking.connect((far, 9))  # a datagram socket only looks up the way
            address = asking.getsockname()[0]
    except OSError:
        return []
    return [] if access.is_this_machine(address) else [address]


def _why(error: Exception, host: str, port: int) -> str:
    import errno

    if isinstance(error, (socket.gaierror, UnicodeError)) or getattr(error, "errno", None) == errno.EADDRNOTAVAIL:
        return f'--host: "{host}" is no address of this machine; expected 127.0.0.1, 0.0.0.0 or one of its addresses'

    number = getattr(error, "errno", None)
    if number == errno.EADDRINUSE:
        return f"port {port} is in use; give another one with --port"
    if number == errno.EACCES:
        return f"port {port} may not be opened by this user; give one above 1023 with --port"
    return f"port {port} cannot be opened ({error})"
