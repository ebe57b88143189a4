"""The room of the kinds of actions: one model each. Import `kinds`.

One JSON object a line, ``{"id", "time", "kind", "rod", ...}``. ``time`` is UTC, ``elapsed_s`` feed time. Unknown
kinds are refused by name. Nothing is ever deleted: a correction is a new action. What each does stands in
``logbook/crew/fold.py``.
Every kind, its further fields (those with ? may be left out), and what it says:

- going out (rod, line_out_m?): ``o``: the rod starts going out
- set (rod): ``o`` again: it fishes
- in (rod): ``i``: it is in
- length (rod, line_out_m): line let out or taken in, the counter's reading wanted
- setting (rod, setting): a diver's setting, by the user's label
- lead (rod, lead_m): the length with ``adjust``
- hit (rod, doubtful?, why?, bite?): a fish struck
- bite: rod not known yet
- confirm, doubt (of, (why)): a doubtful hit confirmed; a hit doubted
- outcome (of, outcome): boxed, freed, dropped, no fish
- catch (of, species?, length_m?, mass_kg?, undersized?, note?): what fish
- retime (of, to, to_elapsed_s?): it was at another moment
- undo, restore (of): taken back; put back
- acknowledge (alert): an alert seen
- note (text): a line of the crew's
- put back (rod, of, line_out_m?, setting?, lead_m?): ``r`` twice: out again as it was at that hit
- checked (rod): ``k``: the line was looked at, clean
- trip (people?, target?, limits?, wind?, sea?, note?, utc_offset_min?): the trip's facts; what is left out stays
- end: the trip is over: rods out are in, no fishing time from then on
- ran (keys, since, since_elapsed_s?): the watch's own: the boat ran, these rods are in from when the speed rose
- current (speed_m_s, towards_deg): the surface current as the helm knows it; the one said last counts
- noted (of, depth_m?, line_out_m?, lure?, …): what an old notebook says of a hit
- mark (what, latitude_deg?, longitude_deg?): ``m``: net, snag, bait or break here (without a place: where the boat
  was then)
- fish seen (depth_m, latitude_deg?, longitude_deg?): ``s``: fish on the sounder at a depth
- helm (rudder_deg or heading_deg): practice: the simulated boat's wheel, or a heading that she holds; cannot be taken
  back
- throttle (engine, lever): practice: kicker or main, 0 to 1; cannot be taken back
- fault (what, sensor?, for_s?): practice: an instrument fails until it is mended (``what`` = mended, all of them);
  cannot be taken back
- change (rod, what, name, chain?, line?, tackle?): ``c``: another lure or attractor (``name``), or another leader or
  rig (``chain``), written as in a spread file with the pieces that it may lack
- move (rod, to): ``x``: the rigs of two stations change places, lengths and fights too
- planned (rods: rod, line_out_m?, setting?): lengths and settings of several rods at once, as one entry
- gauge (rod?, depth_m, temperature_c?, speed_m_s?): ``g``: what a gauge reads at a depth; at least one of the two
- observed (rod, what, at?, depth_m? angle_deg? pull_N?, error_…?, speed_m_s?, line_out_m?, setting?, lead_m?): ``h``
  and its like: a touch, the sounder, a logger, angles, a pull, what is known (``logbook/actions/observing_acts.py``)
"""
