"""The explorer as an application: `create_app` builds it, `serve` runs it on this machine."""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

os.environ.setdefault("DASH_DISABLE_VERSION_CHECK", "1")

from dash import Dash
from flask import Response, request
from werkzeug.serving import WSGIRequestHandler, make_server

from materials.errors import InputError
from optimiser.handover import palette

from .callbacks import front, mine, place, runs, slots, table, wall, working
from .layout import page
from .sheet import missing_sheet, wall_sheet

POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self'; frame-ancestors 'none'; base-uri 'self'"
)


def create_app(study_folder: Path | None, runs_folder: Path) -> Dash:
    """The explorer on a study folder; searches started from it live in `runs_folder`."""
    from .workspace import Workspace

    return build(Workspace(study_folder, runs_folder))


def build(workspace: Any) -> Dash:
    """The explorer over a workspace (or anything that answers as one)."""
    app = Dash("dashboard", title="wallfront", update_title=None, assets_folder=str(Path(__file__).parent / "assets"))
    app.index_string = _index()
    app.layout = page
    for part in (place, runs, slots, front, table, wall, working, mine):
        part.register(app, workspace)
    _routes(app, workspace)
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

    @server.route("/print")
    def print_view() -> Response:
        run, chosen = request.args.get("run") or None, request.args.get("wall") or ""
        judged = workspace.wall(run, chosen)
        if judged is None:
            return Response(missing_sheet(chosen), status=404, mimetype="text/html")
        source = workspace.source(run)
        lost = workspace.floor_lost(judged.thickness_mm, source.brief)
        return Response(wall_sheet(judged, chosen, source, lost), mimetype="text/html")

    @server.after_request
    def keep_to_this_machine(response: Response) -> Response:
        response.headers["Content-Security-Policy"] = POLICY
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "no-referrer"
        return response


class Silent(WSGIRequestHandler):
    def log(self, type: str, message: str, *args: Any) -> None:
        """Requests are not news."""


def serve(
    study_folder: Path | None,
    port: int,
    host: str = "127.0.0.1",
    runs_folder: Path | None = None,
    on_ready: Callable[[], None] | None = None,
) -> None:
    """Run the explorer until it is interrupted, `on_ready` once it answers; InputError when the port is taken."""
    listening = listen(host, port)
    try:
        app = create_app(study_folder, runs_folder or _beside(study_folder))
        server = make_server(host, port, app.server, threaded=True, request_handler=Silent, fd=listening.fileno())
        if on_ready is not None:
            on_ready()
        server.serve_forever()
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
    except (OSError, OverflowError) as error:
        listening.close()
        raise InputError(_why(error, port)) from None
    return listening


def _why(error: Exception, port: int) -> str:
    import errno

    number = getattr(error, "errno", None)
    if number == errno.EADDRINUSE:
        return f"port {port} is in use; give another one with --port"
    if number == errno.EACCES:
        return f"port {port} may not be opened by this user; give one above 1023 with --port"
    return f"port {port} cannot be opened ({error})"
