"""A shop's own parts file, for tests: one row of most kinds."""

OWN_PARTS = """\
[source.caliper]
kind = "measured"
source = "our sliding caliper, five pieces"

[housing."quay brake 5.0"]
work = ["brake"]
contact = "lined housing"
ferrule = "quay ferrule"
outside           = [5.05,  0.05, "mm",    "caliper"]
bore              = [2.10,  0.10, "mm",    "caliper"]
kink_radius       = [30.0,   8.0, "mm",    "E"]
advised_radius    = [50.0,  10.0, "mm",    "E"]
axial_stiffness   = [50e3,  25e3, "N",     "E"]
bending_stiffness = [25e3,  12e3, "N mm2", "E"]

[ferrule."quay ferrule"]
insertion = [9.0, 0.5, "mm", "caliper"]
floor     = [1.5, 0.2, "mm", "caliper"]
outside   = [5.9, 0.1, "mm", "caliper"]
bore      = [5.2, 0.1, "mm", "caliper"]
wire_hole = [2.2, 0.1, "mm", "caliper"]
settling  = [0.4, 0.1, "mm", "E"]

[strand."quay strand"]
area_factor     = [0.43, 0.02, "1",     "E"]
breaking_factor = [0.39, 0.02, "1",     "E"]
grade           = [1770,  200, "N/mm2", "E"]
gross_modulus   = [70e3, 14e3, "N/mm2", "E"]

[inner."quay inner 1.5"]
work = ["brake"]
strand = "quay strand"
heads = ["pear"]
diameter = [1.5, 0.02, "mm", "caliper"]
stock    = [[1700, 2100], 20, "mm", "caliper"]

[lever."quay lever"]
sits_on = "drop bar"
place = [250, 25, "mm", "E"]
[lever."quay lever".exit.brake]
end = "nipple"
nipple = "pear"
seat         = [[10, 15, 0], 4, "mm",  "caliper"]
leaves       = [[1, 0, 0],  12, "deg", "E"]
head_path    = [38,   8, "mm",  "caliper"]
head_turn    = [20,  10, "deg", "E"]
pull         = [7.5, 0.5, "mm", "caliper"]
pull_kind = "short"
advantage    = [4.8, 0.3, "1",  "caliper"]
needed_force = [2.0, 1.5, "N",  "E"]

[mover."quay caliper"]
work = "brake"
mount = "fork crown"
end = "anchor"
seat         = [[40, 38, 32],    6, "mm",  "caliper"]
leaves       = [[0, 1, 0.05], 10, "deg", "E"]
anchor       = [[0, -48, -2],    5, "mm",  "caliper"]
anchor_path  = [49,   5, "mm",  "E"]
anchor_turn  = [5,    5, "deg", "E"]
anchor_contact = "bare guide"
spring_least = [10,   4, "N",   "E"]
spring_most  = [20,   5, "N",   "E"]
pull_kind = "short"
pull_wanted  = [7.5, 1.5, "mm", "E"]
take_up      = [3,    1, "mm",  "E"]

[sleeve."quay sleeve"]
work = ["brake", "hose"]
outside = [11.0, 1.0, "mm", "caliper"]
bore    = [5.0,  0.5, "mm", "caliper"]
"""
