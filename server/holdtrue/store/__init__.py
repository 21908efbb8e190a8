"""Where the log is kept: one port, several stores."""
