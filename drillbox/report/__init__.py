"""Looking back over a box: in hand, the year, calibration, progress files, the checkup."""
