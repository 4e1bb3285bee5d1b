"""The chosen wall: its drawing, figures, working, judgements and documents."""
