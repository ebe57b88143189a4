"""The room of imported bottoms: files of public depths read, kept compressed under the data folder, and asked."""
