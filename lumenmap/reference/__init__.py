"""Reference pages of the files and commands, made from what reads them; nothing is typed twice."""
