"""One function a command: what the command line, the pages and the paper all call."""
