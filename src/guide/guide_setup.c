// SPDX-License-Identifier: MIT
#include "guide/guide_setup.h"

#include <string.h>

// The order is common practice: first what everything stands on, then what is
// fitted, then the geometry, then what the geometry decides, last what only
// shows the result. Others set the force before the overhang; either way it is
// set roughly first and again at the end, which the bearings marked back say.
// clang-format off
static const DwGuideSetting settings[] = {
    {"setup.drive", "Belt, bearing and motor", "Say what was renewed, cleaned or oiled.", "", "drive"},
    {"setup.level", "Level", "A level on the platter, with a record on and the arm over the middle of it.", "", NULL},
    {"setup.suspension", "Suspension", "Transit locks off; bounce the platter: it must rise and fall straight.", "", NULL},
    {"setup.cartridge", "Cartridge and stylus", "The cartridge and stylus fitted now.", "", NULL},
    {"setup.mat", "Mat and record", "The mat, and the thickness of the record that the arm is set for.", "", NULL},
    {"setup.counterweight", "Counterweight", "Which weight is fitted.", "", NULL},
    {"arm.pivot_to_spindle", "Pivot to spindle", "A caliper or a gauge on spindle and pivot, in plan.", "mm", "align"},
    {"setup.height", "Arm height", "A ruler from the board to the arm's pillar, or the pillar's own scale.", "mm", "rake"},
    {"arm.overhang", "Overhang", "A gauge on the spindle, or both points of a two-point grid.", "mm", "template"},
    {"arm.offset", "Offset", "The cantilever, not the body, along the grid's lines at both points.", "deg", "align"},
    {"setup.azimuth", "Azimuth", "By the crosstalk of one-sided bands; by eye against a mirror only to begin.", "deg", "azimuth"},
    {"setup.lateral_balance", "Balance to the sides", "Tilt the deck a little with the arm afloat: it must not swing away.", "", NULL},
    {"setup.force", "Tracking force", "A checked scale with its pan at the height of a record.", "g", "force"},
    {"rake.measured", "Rake", "A photograph from the side, or the height of both ends of the tube.", "deg", "rake"},
    {"setup.anti_skate", "Anti-skate", "The dial, thread or weight as set; the dial's figures are no measure.", "", "tracking"},
    {"setup.resonance", "Resonance of arm and cartridge", "A low sweep, each way.", "Hz", "lowsweep"},
    {"setup.loading", "Load of the cartridge", "Lead and input capacitance together, and the resistance.", "", "load"},
    {"setup.lift", "Lift and set-down", "The stylus clear of the record when raised; where it comes down.", "mm", NULL},
    {"deck.speed", "Speed", "With the stylus in the groove, cold and warm.", "rpm", "speed"},
    {"setup.tracking", "Tracking on both channels", "The tracking bands, loudest last.", "", "tracking"},
};

#define PRACTICE "common practice, no source"
#define GEOMETRY "by geometry"

static const DwGuideBearing bearings[] = {
    {"setup.drive", "deck.speed", "A new belt, fresh oil or a worked-on motor changes ratio and drag, so the speed moves, cold and warm.", PRACTICE, false},
    {"setup.level", "setup.suspension", "Springs hang by the weight above them, and level shares that weight out.", PRACTICE, false},
    {"setup.level", "setup.azimuth", "An arm on a single point leans with the deck.", PRACTICE, false},
    {"setup.level", "setup.force", "An arm balanced by its weight alone presses otherwise when the deck stands otherwise.", PRACTICE, false},
    {"setup.level", "setup.anti_skate", "A tilt pulls the arm to one side as anti-skate does.", PRACTICE, false},
    {"setup.suspension", "setup.level", "The springs carry platter and arm: moving them tilts what was levelled.", PRACTICE, true},
    {"setup.suspension", "deck.speed", "A chassis at another height runs the belt on another part of the pulley.", PRACTICE, false},
    {"setup.cartridge", "setup.height", "Another cartridge is taller or lower, and the arm no longer lies parallel.", PRACTICE, false},
    {"setup.cartridge", "arm.overhang", "Each cartridge holds its stylus at another distance from the mounting holes.", PRACTICE, false},
    {"setup.cartridge", "arm.offset", "No two cantilevers sit alike in their bodies.", PRACTICE, false},
    {"setup.cartridge", "setup.azimuth", "No two styli sit alike on their cantilevers.", PRACTICE, false},
    {"setup.cartridge", "setup.lateral_balance", "Another weight stands at another place in the headshell.", PRACTICE, false},
    {"setup.cartridge", "setup.force", "Another weight hangs at the headshell, and the maker wants another force.", PRACTICE, false},
    {"setup.cartridge", "rake.measured", "No two styli lean alike.", PRACTICE, false},
    {"setup.cartridge", "setup.anti_skate", "The shape of the tip decides its friction in the groove, which pulls the arm inwards.", PRACTICE, false},
    {"setup.cartridge", "setup.resonance", "Mass and compliance make the resonance, and both are others now.", "f = 1/(2π√(m·c))", false},
    {"setup.cartridge", "setup.loading", "Each cartridge has its own inductance and wants its own load.", PRACTICE, false},
    {"setup.cartridge", "setup.lift", "The stylus hangs lower or higher under the arm.", PRACTICE, false},
    {"setup.cartridge", "setup.tracking", "It is the cartridge that tracks.", PRACTICE, false},
    {"setup.mat", "setup.height", "The record lies higher or lower against the arm.", GEOMETRY, false},
    {"setup.mat", "setup.force", "Where the counterweight hangs low, the force changes with the height of the record.", PRACTICE, false},
    {"setup.mat", "rake.measured", "The arm slopes otherwise to a record that lies higher or lower.", GEOMETRY, false},
    {"setup.mat", "setup.lift", "The record comes nearer to the raised stylus, or further from it.", GEOMETRY, false},
    {"setup.counterweight", "setup.lateral_balance", "The weight may hang off the arm's axis.", PRACTICE, false},
    {"setup.counterweight", "setup.force", "The force comes from the weight and its place.", GEOMETRY, false},
    {"setup.counterweight", "setup.resonance", "The weight is part of the arm's effective mass.", "m = Σ mass·(distance/length)²", false},
    {"arm.pivot_to_spindle", "arm.overhang", "Overhang is effective length less pivot to spindle.", GEOMETRY, false},
    {"arm.pivot_to_spindle", "arm.offset", "With another distance neither point of the grid is met at the old angle.", GEOMETRY, false},
    {"setup.height", "arm.overhang", "A sloping arm reaches less far in plan.", GEOMETRY, false},
    {"setup.height", "setup.azimuth", "Where the bearing's axis stands square to the arm and not to the cartridge, sloping the arm also leans the cartridge.", GEOMETRY, false},
    {"setup.height", "setup.force", "Where the counterweight hangs low, the force changes with the slope of the arm.", PRACTICE, false},
    {"setup.height", "rake.measured", "The stylus leans with the arm, degree for degree.", GEOMETRY, false},
    {"setup.height", "setup.anti_skate", "A thread and weight pull at another angle.", PRACTICE, false},
    {"setup.height", "setup.lift", "The lift moves with the arm's pillar.", PRACTICE, false},
    {"arm.overhang", "arm.offset", "Moving the cartridge along its slots turns it against the grid; the two are set together.", GEOMETRY, false},
    {"arm.overhang", "setup.lateral_balance", "The cartridge's weight moved.", PRACTICE, false},
    {"arm.overhang", "setup.force", "The stylus stands further from the pivot or nearer to it, and the cartridge's weight with it.", GEOMETRY, false},
    {"arm.offset", "arm.overhang", "Turning the cartridge about its screws moves the stylus along.", GEOMETRY, true},
    {"setup.azimuth", "arm.offset", "The headshell does not turn about the cantilever's own axis.", PRACTICE, true},
    {"setup.azimuth", "setup.lateral_balance", "A turned headshell hangs its weight to one side.", PRACTICE, false},
    {"setup.azimuth", "setup.force", "The cartridge's weight moved, and the stylus with it.", PRACTICE, false},
    {"setup.azimuth", "rake.measured", "Turning the headshell about the tube of an arm with an offset also tips the stylus.", GEOMETRY, false},
    {"setup.lateral_balance", "setup.anti_skate", "An arm that falls to one side adds to the anti-skate or takes from it.", PRACTICE, false},
    {"setup.force", "arm.overhang", "The cantilever gives way and the stylus moves forward.", PRACTICE, true},
    {"setup.force", "rake.measured", "The cantilever gives way and the stylus leans otherwise.", PRACTICE, false},
    {"setup.force", "setup.anti_skate", "The pull inwards is friction, and friction grows with the force.", "skating force = friction · force · tan", false},
    {"setup.force", "deck.speed", "The stylus brakes the platter, the more the harder it presses.", PRACTICE, false},
    {"setup.force", "setup.tracking", "What a stylus tracks depends first on its force.", PRACTICE, false},
    {"rake.measured", "arm.overhang", "A wedge or a spacer under the cartridge moves the stylus along.", GEOMETRY, true},
    {"rake.measured", "setup.force", "A wedge or a spacer adds weight and moves the stylus.", PRACTICE, true},
    {"setup.anti_skate", "setup.tracking", "It shares the force out between the two walls of the groove.", PRACTICE, false},
};
// clang-format on

enum {
    SETTINGS = sizeof settings / sizeof *settings,
    BEARINGS = sizeof bearings / sizeof *bearings,
};

const DwGuideSetting *dw_guide_setup_at(size_t index)
{
    return index < SETTINGS ? &settings[index] : NULL;
}

size_t dw_guide_setup_count(void)
{
    return SETTINGS;
}

int dw_guide_setup_find(const char *key)
{
    for (int i = 0; i < SETTINGS; i++)
        if (strcmp(settings[i].key, key) == 0)
            return i;
    return -1;
}

const DwGuideBearing *dw_guide_setup_bearing_at(size_t index)
{
    return index < BEARINGS ? &bearings[index] : NULL;
}

const DwGuideBearing *dw_guide_setup_stale(const DwGuideTimes *times, size_t index)
{
    const DwGuideBearing *why = NULL;
    int64_t latest = times[index].seen;
    for (size_t i = 0; i < BEARINGS && times[index].seen; i++) {
        if (strcmp(bearings[i].to, settings[index].key) != 0)
            continue;
        int64_t changed = times[dw_guide_setup_find(bearings[i].from)].changed;
        if (changed > latest) {
            latest = changed;
            why = &bearings[i];
        }
    }
    return why;
}
