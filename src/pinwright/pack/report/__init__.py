"""The report of a pack: one content, shown as a page, as Markdown and on paper."""
