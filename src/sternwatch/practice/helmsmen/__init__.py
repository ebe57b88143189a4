"""The room of who steers without a screen: scripted helmsmen, novice and advised."""
