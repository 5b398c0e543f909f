"""How the window looks: colours, type, marks, icons and the style of controls."""
