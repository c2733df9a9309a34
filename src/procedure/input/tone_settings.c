// SPDX-License-Identifier: MIT
#include "procedure/input/tone_settings.h"

#include "procedure/registry/limits.h"

// Rounded as they are typed they are short of 33⅓ by up to 1 %.
double dw_nominal_speed(const DwInputs *inputs)
{
    static const double third = 100.0 / 3;
    double rpm = dw_inputs_in(inputs, "deck.speed", "rpm");
    return rpm >= 33 && rpm <= 33.4 ? third : rpm;
}

// What the deck's class calls good or allows; a mistake in its file was said before anything was measured.
static void set_limits(const DwInputs *inputs, DwSpeedSettings *settings)
{
    DwLimits limits;
    if (dw_limits_read(inputs, &limits, NULL) == DW_OK) {
        settings->good_flutter = dw_limits_good_most(&limits, "flutter.weighted.two_sigma");
        settings->good_turn = dw_limits_good_most(&limits, "revolution.amplitude");
        settings->most_drift = dw_limits_allowed_most(&limits, "speed.drift");
    }
    dw_limits_clear(&limits);
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
    if (dw_inputs_given(inputs, "deck.mains"))
        settings.mains_hz = dw_inputs_in(inputs, "deck.mains", "Hz");
    settings.skip_s = recording->start_s;
    settings.drive_given = drive != NULL;
    set_limits(inputs, &settings);
    if (drive)
        settings.drive = *drive;
    return settings;
}
