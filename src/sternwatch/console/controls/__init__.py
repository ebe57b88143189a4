"""The room of the controls: what a key press means now, lists, the typing line, the plan being shaped."""
