"""The room of the desk: what a key press means now, lists, the typing line, the plan being shaped."""
