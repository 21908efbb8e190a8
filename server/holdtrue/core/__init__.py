"""The mathematics: values in, values out. See README.md in this folder for what it may not do."""
