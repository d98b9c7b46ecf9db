# Quillbrook Turning, form of the brass hose fitting, flat top
[tool]
id = QT-F-0114
kind = form-tool
width_mm = 14
nominal_profile = QT-F-0114.dxf

[limits]
profile_deviation_max_mm = .. 0.012
profile_deviation_min_mm = -0.012 ..
