"""The bibliography of the physics: docstrings cite these keys in square brackets.

``MEMORY`` marks a figure that could not be opened in print; it carries a wide interval wherever it is used.
"""

from __future__ import annotations

MEMORY = "from memory, no document at hand"
PRACTICE = "common practice, no source"

REFERENCES: dict[str, str] = {
    "White 1991": "F. M. White, Viscous Fluid Flow, 2nd ed., McGraw-Hill 1991: drag of a circular cylinder in"
    " cross-flow, the correlation of D. Sucker and H. Brauer, Waerme- und Stoffuebertragung 8 (1975) 149",
    "Wieselsberger 1921": "C. Wieselsberger, Physikalische Zeitschrift 22 (1921) 321: measured drag of cylinders",
    "Blevins 1990": "R. D. Blevins, Flow-Induced Vibration, 2nd ed., 1990: drag of a vibrating cylinder",
    "Vandiver 1983": "J. K. Vandiver, Drag coefficients of long flexible cylinders, paper OTC 4490, 1983",
    "Clift Gauvin 1971": "R. Clift and W. H. Gauvin, Motion of entrained particles in gas streams,"
    " Can. J. Chem. Eng. 49 (1971) 439: drag of a sphere below the critical Reynolds number",
    "Hoerner 1965": "S. F. Hoerner, Fluid-Dynamic Drag, 1965: disc normal to the stream 1.12-1.17",
    "Ortiz 2015": "X. Ortiz, D. Rival and D. Wood, Forces and moments on flat plates of small aspect ratio,"
    " Energies 8 (2015) 2438: the force is normal to the plate above about 10 degrees",
    "Polhamus 1966": "E. C. Polhamus, A concept of the vortex lift of sharp-edge delta wings based on a"
    " leading-edge-suction analogy, NASA TN D-3767, 1966",
    "Fritsch Carlson 1980": "F. N. Fritsch and R. E. Carlson, Monotone piecewise cubic interpolation, SIAM J. Numer."
    " Anal. 17 (1980) 238",
    "Dormand Prince 1980": "J. R. Dormand and P. J. Prince, A family of embedded Runge-Kutta formulae,"
    " J. Comput. Appl. Math. 6 (1980) 19",
    "Pode 1951": "L. Pode, Tables for computing the equilibrium configuration of a flexible cable in a uniform"
    " stream, David Taylor Model Basin Report 687, 1951",
    "Zajac 1957": "E. E. Zajac, Dynamics and kinematics of the laying and recovery of submarine cable,"
    " Bell System Technical Journal 36 (1957) 1129",
    "Chapman 1984": "D. A. Chapman, Towed cable behaviour during ship turning manoeuvres, Ocean Engineering 11 (1984)"
    " 327, as reported in Scientific Reports 13:3525",
    "ITTC water": "ITTC Recommended Procedure 7.5-02-01-03, Fresh water and seawater properties",
    "IAPWS-95": "W. Wagner and A. Pruss, The IAPWS formulation 1995 for ordinary water,"
    " J. Phys. Chem. Ref. Data 31 (2002) 387",
    "Magisano 2017": "D. Magisano, L. Leonetti and G. Garcea, How to improve efficiency and robustness of the Newton"
    " method in geometrically non-linear structural problems, Comput. Methods Appl. Mech. Eng. 313 (2017) 986",
    "Hairer Wanner 1996": "E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, 2nd ed., 1996:"
    " backward differentiation formulae and their step ratios",
    "Catmull Rom 1974": "E. Catmull and R. Rom, A class of local interpolating splines, in Computer Aided Geometric"
    " Design, 1974",
    "Kell 1975": "G. S. Kell, Density, thermal expansivity and compressibility of liquid water,"
    " J. Chem. Eng. Data 20 (1975) 97",
}
