"""The files of one folder in several hands: edits that keep style, history, merging."""
