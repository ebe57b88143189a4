"""The room of helmsmen who steer without a screen: scripted ones, novice and advised."""
