"""The subcommands: one module each, with ``add_parser(sub)`` and ``run(args) -> int``."""
