"""Papers for other people: what fills them (one kind a file), how they look (templates), how they are written."""
