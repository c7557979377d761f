"""The look of the site: our templates, style and script laid over the Material theme, nothing fetched elsewhere."""

from __future__ import annotations

from pathlib import Path

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError

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
    config.theme["font"] = False
    config.theme["palette"] = PALETTE
    config.markdown_extensions.extend(name for name in EXTENSIONS if name not in config.markdown_extensions)
    config.extra_css[:0] = STYLES
    config.extra_javascript[:0] = SCRIPTS
