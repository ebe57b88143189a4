"""The room of actions: one model for each kind. Import `kinds`.

One JSON object per line, ``{"id", "time", "kind", "rod", ...}``. ``time`` is UTC, ``elapsed_s`` feed time. Unknown
kinds are refused by name. Nothing is ever deleted: a correction is a new action. ``logbook/crew/fold.py`` says
what each action does. Where an act takes two entries, the second names the first in ``part_of``: undone as one.
Every kind, its further fields (those with ? may be left out), and its meaning:

- going out (rod, line_out_m?): ``o``: the rod starts going out
- set (rod): ``o`` again: it fishes
- in (rod): ``i``: it is in
- length (rod, line_out_m): line let out or taken in, up to this reading of the counter
- setting (rod, setting): a diver's setting, by the user's label
- lead (rod, lead_m): the length with ``adjust``
- hit (rod, doubtful?, why?, bite?): a fish struck
- bite: a fish bit; the rod is not known yet
- confirm, doubt (of, (why)): a doubtful hit confirmed; a hit doubted
- outcome (of, outcome): how a hit ended: boxed, freed, dropped, no fish
- catch (of, species?, length_m?, mass_kg?, undersized?, note?): what fish
- retime (of, to, to_elapsed_s?): the hit was at another moment
- undo, restore (of): an entry taken back; put back
- acknowledge (alert): the crew have seen an alert
- note (text): the crew's own words
- put back (rod, of, line_out_m?, setting?, lead_m?): ``r`` twice: out again as at that hit
- checked (rod): ``k``: the crew looked at the line; it is clean
- trip (people?, target?, limits?, wind?, sea?, note?, utc_offset_min?): the trip's facts; those left out stay
- end: the trip is over: rods that are out count as in, fishing time ends
- ran (keys, since, since_elapsed_s?): entered by the watch: the boat ran; these rods are in since the speed rose
- current (speed_m_s, towards_deg): the surface current by the helm's knowledge; the newest entry counts
- noted (of, depth_m?, line_out_m?, lure?, …): what an old notebook says of a hit
- mark (what, latitude_deg?, longitude_deg?): ``m``: net, snag, bait or break here (without a place: at the boat's
place then)
- fish seen (depth_m, latitude_deg?, longitude_deg?): ``s``: fish on the sounder at a depth
- helm (rudder_deg or heading_deg): practice: the simulated boat's wheel, or a heading that she holds; cannot be
undone
- throttle (engine, lever): practice: kicker or main, 0 to 1; cannot be undone
- fault (what, sensor?, for_s?): practice: an instrument fails until it is mended (``what`` = mended: all of them);
cannot be undone
- change (rod, what, name, chain?, line?, tackle?): ``c``: another lure or attractor (``name``), or another leader or
  rig (``chain``), written as in a spread file, with the pieces that the spread may lack
- move (rod, to): ``x``: two stations swap rigs, with lengths and fights
- planned (rods: rod, line_out_m?, setting?): lengths and settings of several rods in one entry
- gauge (rod?, depth_m, temperature_c?, speed_m_s?): ``g``: a gauge at a depth reads temperature, speed or both
- observed (rod, what, at?, depth_m? angle_deg? pull_N?, error_…?, speed_m_s?, line_out_m?, setting?, lead_m?): ``h``
  and similar keys: a touch, the sounder, a logger, angles, a pull, what is known (``observing_acts.py``)
"""
