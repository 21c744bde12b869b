"""The users' questions, each answered as a page of plain data."""
