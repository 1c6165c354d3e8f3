"""The live page: a server for the browser, edits of the house's files, light under the hand."""
