// SPDX-License-Identifier: MIT
#include "procedure/input/tone_settings.h"

// Rounded as they are typed they are short of 33⅓ by up to 1 %.
double dw_nominal_speed(const DwInputs *inputs)
{
    static const double third = 100.0 / 3;
    double rpm = dw_inputs_in(inputs, "deck.speed", "rpm");
    return rpm >= 33 && rpm <= 33.4 ? third : rpm;
}

DwSpeedSettings dw_tone_settings(const DwInputs *inputs, const DwRecording *recording, const DwDrive *drive)
{
    DwSpeedSettings settings = dw_speed_settings(recording->rate_hz, recording->channels);
    settings.tone_hz = dw_inputs_in(inputs, "record.tone", "Hz");
    settings.speed_rpm = dw_nominal_speed(inputs);
    settings.split_hz = dw_inputs_in(inputs, "flutter.split", "Hz");
    settings.radius_mm = dw_inputs_in(inputs, "record.radius", "mm");
    settings.offset_deg = dw_inputs_in(inputs, "arm.offset", "deg");
    settings.clock_error_ppm = dw_inputs_in(inputs, "chain.clock_error", "ppm");
    settings.tone_tolerance_percent = dw_inputs_in(inputs, "record.tone_tolerance", "%");
    settings.skip_s = recording->start_s;
    settings.drive_given = drive != NULL;
    if (drive)
        settings.drive = *drive;
    return settings;
}
