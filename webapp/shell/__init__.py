"""The shell: one page that a tablet keeps and fills by itself when the server cannot be reached. It knows nobody."""
