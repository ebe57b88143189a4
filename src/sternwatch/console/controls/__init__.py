"""The room of the controls: the present meaning of keys, lists, the typing line, the plan being shaped."""
