"""The crate label: content, layout in mm, SVG. Pure."""
