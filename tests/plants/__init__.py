"""Sample plants spoiled on purpose, each by one or a few edits of the sound file."""
