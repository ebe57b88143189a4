"""The room that makes chains of numbers from gear: lines, bodies, uncertain values."""
