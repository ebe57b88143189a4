"""The room of imported bottoms: reads files of public depths, keeps them compressed in the data folder."""
