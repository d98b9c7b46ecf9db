# Quillbrook Turning, cutting bushings off the bar
[tool]
id = QT-B-0030
kind = cutoff-blade
material = high-speed-steel
width_mm = 3
part_has_centre_hole = yes
hand = right
side_rake_deg = 7

[limits]
edge_width_mm = 2.95 .. 3.05
side_clearance_mean_deg = 0.5 .. 3
