// SPDX-License-Identifier: MIT
// A side of twenty bands with one of everything, short enough for a test.
#ifndef DW_TESTS_SUPPORT_SIDE_PLAN_H
#define DW_TESTS_SUPPORT_SIDE_PLAN_H

static const char side_plan_text[] =
    "[record]\nname = Twenty bands\nspeed = 33 1/3 rpm\nreference = 5 cm/s\nlead_in = 3 s\ngap = 1.5 s\n"
    "[band 1]\nkind = tone\nchannel = lateral\nfrequency = 1 kHz\nlevel = 0 dB\nlength = 8 s\n"
    "[band 2]\nkind = tone\nchannel = left\nfrequency = 1 kHz\nlevel = 3.54 cm/s\nlength = 10 s\n"
    "[band 3]\nkind = tone\nchannel = right\nfrequency = 1 kHz\nlevel = 3.54 cm/s\nlength = 10 s\n"
    "[band 4]\nkind = tone\nchannel = vertical\nfrequency = 1 kHz\nlevel = 0 dB\nlength = 8 s\n"
    "[band 5]\nkind = tone\nchannel = lateral\nfrequency = 3150 Hz\nlevel = 0 dB\nlength = 30 s\n"
    "[band 6]\nkind = tone\nchannel = lateral\nfrequency = 315 Hz\nlevel = 5.42 cm/s\nlength = 8 s\n"
    "[band 7]\nkind = sweep\nchannel = left\nfrom = 20 Hz\nto = 20 kHz\nlevel = 2 cm/s\nlength = 30 s\n"
    "[band 8]\nkind = sweep\nchannel = right\nfrom = 20 Hz\nto = 20 kHz\nlevel = 2 cm/s\nlength = 30 s\n"
    "[band 9]\nkind = sweep\nchannel = lateral\nfrom = 1 kHz\nto = 16 kHz\nlevel = 2 cm/s\nlength = 12 s\n"
    "[band 10]\nkind = silence\nlength = 30 s\n"
    "[band 11]\nkind = steps\nchannel = lateral\nfrequency = 300 Hz\nlevel = 40 50 60 70 80 um\nlength = 25 s\n"
    "[band 12]\nkind = two-tone\nchannel = lateral\nfrequency = 400 Hz 4 kHz\nlevel = 5 cm/s\nlength = 8 s\n"
    "[band 13]\nkind = two-tone\nchannel = vertical\nfrequency = 400 Hz 4 kHz\nlevel = 3 cm/s\nlength = 8 s\n"
    "[band 14]\nkind = sweep\nchannel = lateral\nfrom = 25 Hz\nto = 4 Hz\nlevel = 1 cm/s\nlength = 25 s\n"
    "[band 15]\nkind = sweep\nchannel = vertical\nfrom = 25 Hz\nto = 4 Hz\nlevel = 1 cm/s\nlength = 25 s\n"
    "[band 16]\nkind = tone\nchannel = left\nfrequency = 10 kHz\nlevel = -12 dB\nlength = 6 s\n"
    "[band 17]\nkind = tone\nchannel = right\nfrequency = 10 kHz\nlevel = -12 dB\nlength = 6 s\n"
    "[band 18]\nkind = tone\nchannel = lateral\nfrequency = 100 Hz\nlevel = -10 dB\nlength = 6 s\n"
    "[band 19]\nkind = tone\nchannel = lateral\nfrequency = 3150 Hz\nlevel = -6 dB\nlength = 12 s\n"
    "[band 20]\nkind = silence\nlength = 10 s\n";

#endif
