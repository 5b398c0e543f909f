"""The film as frozen values, with its timecode, edits and checks; standard library only."""
