"""The look of the site: our templates, style and script laid over the Material theme, nothing fetched elsewhere."""

from __future__ import annotations

from pathlib import Path

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.utils import get_build_datetime

from causebook.library.offline import write_built

THEME = Path(__file__).parent / "theme"
STYLES = ("assets/causebook.css", "assets/library.css", "assets/door.css")
SCRIPTS = ("assets/causebook.js", "assets/offline.js", "assets/door.js")
EXTENSIONS = ("attr_list", "md_in_html", "tables")
"""What our generated Markdown needs."""
PALETTE = [
    {
        "media": f"(prefers-color-scheme: {light_or_dark})",
        "scheme": scheme,
        "primary": "custom",
        "accent": "custom",
        "toggle": {"icon": "material/circle-half-full", "name": f"Switch to {other}"},
    }
    for light_or_dark, scheme, other in (("light", "default", "dark"), ("dark", "slate", "light"))
]


POLICY = "; ".join(
    (
        "default-src 'self'",
        "script-src 'self' 'wasm-unsafe-eval'",  # the full-text search is a WebAssembly program
        "style-src 'self' 'unsafe-inline'",  # for browsers that do not know the next two
        "style-src-elem 'self'",
        "style-src-attr 'unsafe-inline'",  # the marks of a drawing take their colors from the page
        "img-src 'self' data: blob:",  # marks of the theme's style sheet; photos on the call sheet
        "object-src 'none'",
        "base-uri 'self'",
        "form-action 'self'",
    )
)
"""What a page may load and run: what is of the site, and no script that stands in a page (Content Security Policy
Level 3).  The same from a folder, where browsers take the file's own place for 'self'."""


def stamp(config: MkDocsConfig) -> None:
    """Write when the site was built, for the foot of every page; whoever makes the worker writes it again."""
    write_built(Path(config.site_dir), get_build_datetime())


def dress(config: MkDocsConfig) -> None:
    """Lay the look over the theme, once however many plugins ask for it.

    A site's own `extra_css` and `extra_javascript` come after ours and so may change anything.
    """
    if config.theme.name != "material":
        raise PluginError("the pages are laid out for the theme 'material'; write `theme: {name: material}`")
    if str(THEME) in config.theme.dirs:
        return
    custom = 1 if config.theme.custom_dir else 0
    config.theme.dirs.insert(custom, str(THEME))
    config.extra.setdefault("policy", POLICY)
    config.theme["font"] = False
    config.theme["palette"] = PALETTE
    config.markdown_extensions.extend(name for name in EXTENSIONS if name not in config.markdown_extensions)
    config.extra_css[:0] = STYLES
    config.extra_javascript[:0] = SCRIPTS
