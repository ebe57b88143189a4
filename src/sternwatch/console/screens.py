"""The screens over the helm, by the act that shows them. A new screen is a line here and an act."""

from __future__ import annotations

from sternwatch.console.chart.screen import ChartScreen
from sternwatch.console.debrief.screen import DebriefScreen
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.pages.calibrate import CalibrateScreen
from sternwatch.console.pages.check import CheckScreen
from sternwatch.console.pages.deck import DeckScreen
from sternwatch.console.pages.fit import FitScreen
from sternwatch.console.pages.how_sure import SureScreen
from sternwatch.console.pages.looking_back import LookingBackScreen
from sternwatch.console.pages.outlook import OutlookScreen
from sternwatch.console.pages.producing import ProducingScreen
from sternwatch.console.pages.sensors import SensorScreen
from sternwatch.console.pages.spread_plan import SpreadPlanScreen

SCREENS: dict[str, type[WatchScreen]] = {
    "chart": ChartScreen,
    "ahead": OutlookScreen,
    "sensors": SensorScreen,
    "check": CheckScreen,
    "producing": ProducingScreen,
    "spread plan": SpreadPlanScreen,
    "debrief": DebriefScreen,
    "how sure": SureScreen,
    "fit": FitScreen,
    "calibrate": CalibrateScreen,
    "deck page": DeckScreen,
    "looking back": LookingBackScreen,
}
