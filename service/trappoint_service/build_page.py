"""The page on which people build a plan by pointing, and what a plan can begin with."""

from __future__ import annotations

from flask import Blueprint, render_template

from trappoint.drawing.working_page import component
from trappoint_service.build_files import SCRIPTS, STYLE
from trappoint_service.uploads import PASTED, handed_in


def make_build_page() -> Blueprint:
    """Make the part of the application that serves the page."""
    build = Blueprint("build", __name__)

    @build.get("/build")
    def page() -> str:
        return _page()

    @build.post("/build")
    def page_with_text() -> str:
        """Bring a plan from another page."""
        handed = handed_in()
        return _page(handed.text or "", handed.plan.name)

    return build


def _page(text: str = "", name: str = "") -> str:
    """Return the page as HTML, with a plan to show, if there is one."""
    return render_template(
        "build.html",
        text=text,
        name="" if name == PASTED else name,
        build_scripts=SCRIPTS,
        build_style=STYLE,
        work_frame=component("", {}),
    )
