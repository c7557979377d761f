"""The MkDocs side: thin plugins over the library, and the look of the site.  Only here is mkdocs imported."""
