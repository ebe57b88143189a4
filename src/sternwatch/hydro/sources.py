"""The bibliography: every work that code, tests and screens cite. The physics cites keys in square brackets.

For each work ``MEMORY`` marks what is written from memory: a title, volume or page that nothing at hand confirms.
Unmarked entries were compared with how others cite the same work. Whether the figures taken from a work were read
in print is said beside the figures.
"""

from __future__ import annotations

MEMORY = "from memory, no document at hand"

REFERENCES: dict[str, str] = {
    "White 1991": "F. M. White, Viscous Fluid Flow, 2nd ed., McGraw-Hill 1991: drag of a circular cylinder in"
    " cross-flow, the correlation of D. Sucker and H. Brauer, Waerme- und Stoffuebertragung 8 (1975) 149; the"
    " journal " + MEMORY,
    "Wieselsberger 1921": "C. Wieselsberger, Physikalische Zeitschrift 22 (1921) 321: measured drag of cylinders;"
    " the same in English in 1922; the first print " + MEMORY,
    "Blevins 1990": "R. D. Blevins, Flow-Induced Vibration, 2nd ed., 1990: drag of a vibrating cylinder",
    "Hoerner 1965": "S. F. Hoerner, Fluid-Dynamic Drag, 1965: disc normal to the stream 1.12-1.17",
    "Ortiz 2015": "X. Ortiz, D. Rival and D. Wood, Forces and moments on flat plates of small aspect ratio,"
    " Energies 8 (2015) 2438: the force is normal to the plate above about 10 degrees",
    "Polhamus 1966": "E. C. Polhamus, A concept of the vortex lift of sharp-edge delta wings based on a"
    " leading-edge-suction analogy, NASA TN D-3767, 1966",
    "Fritsch Carlson 1980": "F. N. Fritsch and R. E. Carlson, Monotone piecewise cubic interpolation, SIAM J. Numer."
    " Anal. 17 (1980) 238",
    "Fritsch Butland 1984": "F. N. Fritsch and J. Butland, A method for constructing local monotone piecewise cubic"
    " interpolants, SIAM J. Sci. Stat. Comput. 5 (1984) 300",
    "Dormand Prince 1980": "J. R. Dormand and P. J. Prince, A family of embedded Runge-Kutta formulae,"
    " J. Comput. Appl. Math. 6 (1980) 19",
    "Pode 1951": "L. Pode, Tables for computing the equilibrium configuration of a flexible cable in a uniform"
    " stream, David Taylor Model Basin Report 687, 1951; " + MEMORY,
    "Zajac 1957": "E. E. Zajac, Dynamics and kinematics of the laying and recovery of submarine cable,"
    " Bell System Technical Journal 36 (1957) 1129",
    "Chapman 1984": "D. A. Chapman, Towed cable behaviour during ship turning manoeuvres, Ocean Engineering 11 (1984)"
    " 327, as reported in Scientific Reports 13:3525; " + MEMORY,
    "ITTC 7.5-02-01-03": "ITTC Recommended Procedure 7.5-02-01-03, Fresh water and seawater properties",
    "IAPWS-95": "W. Wagner and A. Pruss, The IAPWS formulation 1995 for ordinary water,"
    " J. Phys. Chem. Ref. Data 31 (2002) 387",
    "Magisano 2017": "D. Magisano, L. Leonetti and G. Garcea, How to improve efficiency and robustness of the Newton"
    " method in geometrically non-linear structural problems, Comput. Methods Appl. Mech. Eng. 313 (2017) 986; "
    + MEMORY,
    "Hairer Wanner 1996": "E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, 2nd ed., 1996:"
    " backward differentiation formulae and their step ratios",
    "Catmull Rom 1974": "E. Catmull and R. Rom, A class of local interpolating splines, in Computer Aided Geometric"
    " Design, 1974",
    "Tanaka 2001": "M. Tanaka et al., Recommended table for the density of water between 0 and 40 degrees C based on"
    " recent experimental reports, Metrologia 38 (2001) 301",
    "IAPWS SR6-08": "IAPWS SR6-08(2011), Revised supplementary release on properties of liquid water at 0.1 MPa",
    "Barati 2014": "R. Barati, S. A. A. S. Neyshabouri and G. Ahmadi, Development of empirical models with high"
    " accuracy for estimation of drag coefficient of flow around a smooth sphere, Powder Technology 257 (2014) 11",
    "Clift Grace Weber 1978": "R. Clift, J. R. Grace and M. E. Weber, Bubbles, Drops, and Particles, 1978: the"
    " standard drag curve of a sphere",
    "Callister": "W. D. Callister and D. G. Rethwisch, Materials Science and Engineering: densities and moduli"
    " of metals",
    "Morton Hearle": "W. E. Morton and J. W. S. Hearle, Physical Properties of Textile Fibres: nylon, UHMWPE",
    "Broyden 1965": "C. G. Broyden, A class of methods for solving nonlinear simultaneous equations, Math. Comput. 19"
    " (1965) 577",
    "Brent 1973": "R. P. Brent, Algorithms for Minimization without Derivatives, 1973, chapter 5",
    "Ericson 2005": "C. Ericson, Real-Time Collision Detection, 2005, section 5.1.9",
    "Tukey 1960": "J. W. Tukey, A survey of sampling from contaminated distributions, in Contributions to Probability"
    " and Statistics, 1960",
    "Sobol 1993": "I. M. Sobol, Sensitivity estimates for nonlinear mathematical models, Math. Modelling and Comput."
    " Experiments 1 (1993) 407",
    "McKay 1979": "M. D. McKay, R. J. Beckman and W. J. Conover, A comparison of three methods for selecting"
    " values of input variables, Technometrics 21 (1979) 239",
    "Murray 2010": "I. Murray, R. P. Adams and D. J. C. MacKay, Elliptical slice sampling, AISTATS 2010",
    "Kalman 1960": "R. E. Kalman, A new approach to linear filtering and prediction problems, J. Basic Eng. 82 (1960)"
    " 35",
    "Bar-Shalom 2001": "Y. Bar-Shalom, X. R. Li and T. Kirubarajan, Estimation with Applications to Tracking and"
    " Navigation, 2001",
    "Garwood 1936": "F. Garwood, Fiducial limits for the Poisson distribution, Biometrika 28 (1936) 437",
    "Clopper Pearson 1934": "C. J. Clopper and E. S. Pearson, The use of confidence or fiducial limits illustrated in"
    " the case of the binomial, Biometrika 26 (1934) 404",
    "Przyborowski Wilenski 1940": "J. Przyborowski and H. Wilenski, Homogeneity of results in testing samples from"
    " Poisson series, Biometrika 31 (1940) 313",
    "Benjamini Hochberg 1995": "Y. Benjamini and Y. Hochberg, Controlling the false discovery rate, J. R. Stat."
    " Soc. B 57 (1995) 289",
    "Nomoto 1957": "K. Nomoto et al., On the steering qualities of ships, Int. Shipbuilding Progress 4 (1957) 354",
    "Fossen 2011": "T. I. Fossen, Handbook of Marine Craft Hydrodynamics and Motion Control, 2011; the chapters, 7"
    " and 8, " + MEMORY,
    "Edsall Cleland 2000": "T. A. Edsall and J. Cleland, Optimum temperature for growth and preferred temperatures of"
    " age-0 lake trout, N. Am. J. Fish. Manage. 20 (2000) 804 (abstract read)",
    "Stewart Bowlby 2009": "T. J. Stewart and J. N. Bowlby, Chinook salmon and rainbow trout catch and temperature"
    " distributions in Lake Ontario, J. Great Lakes Res. 35 (2009) 232 (abstract read)",
    "Garside Tait 1958": "E. T. Garside and J. S. Tait, Preferred temperature of rainbow trout (Salmo gairdneri"
    " Richardson) and its unusual relationship to acclimation temperature, Can. J. Zool. 36 (1958), doi"
    " 10.1139/z58-052 (abstract read)",
    "Brown 1946": "M. E. Brown, The growth of brown trout (Salmo trutta Linn.) III, J. Exp. Biol. 22 (1946) 145"
    " (abstract read); it reports Pentelow 1939 and Wingfield 1940",
    "Pentelow 1939": "F. T. K. Pentelow, J. Exp. Biol. 16 (1939), as reported by Brown 1946; journal " + MEMORY,
    "Wingfield 1940": "C. A. Wingfield, J. Exp. Biol. 17 (1940), as reported by Brown 1946; journal " + MEMORY,
    "Provot 1997": "X. Provot, Collision and self-collision handling in cloth model dedicated to design garments,"
    " Computer Animation and Simulation 1997; " + MEMORY,
    "Bridson 2002": "R. Bridson, R. Fedkiw and J. Anderson, Robust treatment of collisions, contact and friction for"
    " cloth animation, ACM Trans. Graph. 21 (2002); " + MEMORY,
    "Brochu 2012": "T. Brochu, E. Edwards and R. Bridson, Efficient geometrically exact continuous collision"
    " detection, ACM Trans. Graph. 31 (2012); " + MEMORY,
    "Banchoff 1976": "T. Banchoff, Self linking numbers of space polygons, Indiana Univ. Math. J. 25 (1976); "
    + MEMORY,
    "Klenin Langowski 2000": "K. Klenin and J. Langowski, Computation of writhe in modeling of supercoiled DNA,"
    " Biopolymers 54 (2000); the journal " + MEMORY,
    "Qu 2021": "A. Qu and D. L. James, Fast linking numbers for topology verification of loopy structures,"
    " ACM Trans. Graph. 40 (2021); " + MEMORY,
    "Press 1992": "W. H. Press, S. A. Teukolsky, W. T. Vetterling and B. P. Flannery, Numerical Recipes in C, 2nd"
    " ed., 1992",
    "Vandiver 1983": "J. K. Vandiver, Drag coefficients of long flexible cylinders, Offshore Technology Conference"
    " OTC 4490, 1983; the number " + MEMORY,
    "Bourguet Triantafyllou 2014": "R. Bourguet and M. S. Triantafyllou, vortex-induced vibrations of a flexible"
    " cylinder at large inclination, 2014 (abstract read); the journal " + MEMORY,
    "Viekman Wimbush 1993": "B. E. Viekman and M. Wimbush, observations of the currents of Lake Superior, 1993"
    " (abstract read); the journal " + MEMORY,
    "Austin 2013": "J. Austin, currents about the thermocline of Lake Superior, 2013 (abstract read); the journal "
    + MEMORY,
    "Chalko 2009": "T. J. Chalko, accuracy of speed from a satellite receiver's Doppler, 2009 (abstract read)",
    "Qian 2012": "P. Z. G. Qian, Sliced Latin hypercube designs, J. Am. Stat. Assoc. 107 (2012); " + MEMORY,
    "Korobov 1959": "N. M. Korobov, lattices of good points, Dokl. Akad. Nauk SSSR 1959; " + MEMORY,
    "Lemieux 2000": "P. L'Ecuyer and C. Lemieux, Variance reduction via lattice rules, Management Science 46 (2000); "
    + MEMORY,
    "Smola 2002": "B. Schoelkopf and A. J. Smola, Learning with Kernels, MIT Press 2002; " + MEMORY,
    "Page 1954": "E. S. Page, Continuous inspection schemes, Biometrika 41 (1954) 100: the cumulative sum; " + MEMORY,
    "Stone 1974": "M. Stone, Cross-validatory choice and assessment of statistical predictions, J. R. Stat. Soc. B 36"
    " (1974); " + MEMORY,
    "Dubins 1957": "L. E. Dubins, On curves of minimal length with a constraint on average curvature, Amer. J. Math."
    " 79 (1957) 497; " + MEMORY,
    "Westin 1993": "H. Knutsson and C.-F. Westin, Normalized and differential convolution, CVPR 1993; " + MEMORY,
    "MSC.302(87)": "IMO resolution MSC.302(87), Performance standards for bridge alert management, 2010",
    "Kennedy O'Hagan 2001": "M. C. Kennedy and A. O'Hagan, Bayesian calibration of computer models, J. R. Stat."
    " Soc. B 63 (2001) 425; " + MEMORY,
    "Brynjarsdottir O'Hagan 2014": "J. Brynjarsdottir and A. O'Hagan, Learning about physical parameters: the"
    " importance of model discrepancy, Inverse Problems 30 (2014) 114007; " + MEMORY,
    "Rubinstein 1999": "R. Rubinstein, The cross-entropy method for combinatorial and continuous optimization,"
    " Methodology and Computing in Applied Probability 1 (1999) 127; " + MEMORY,
    "Fuwa 2002": "S. Fuwa and others, on the hydrodynamics of trolling depressors in a flume, 2002: the abstract was"
    " read; authors' initials, title and journal " + MEMORY,
    "Talts 2018": "S. Talts, M. Betancourt, D. Simpson, A. Vehtari and A. Gelman, Validating Bayesian inference"
    " algorithms with simulation-based calibration, arXiv 1804.06788 (2018); " + MEMORY,
    "Sokal 1997": "A. Sokal, Monte Carlo methods in statistical mechanics: foundations and new algorithms, in"
    " Functional Integration, 1997; " + MEMORY,
}
