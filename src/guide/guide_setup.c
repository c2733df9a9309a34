// SPDX-License-Identifier: MIT
#include "guide/guide_setup.h"

#include <string.h>

// The order is common practice: first what everything stands on, then what is
// fitted, then the geometry, then what the geometry decides, last what only
// shows the result. Others set the force before the overhang; either way it is
// set roughly first and again at the end, which the bearings marked back say.
// clang-format off
static const DwGuideSetting settings[] = {
    {.key = "setup.drive", .label = "Belt, bearing and motor", .help = "Say what was renewed, cleaned or oiled.", .unit = "", .procedure = "drive"},
    {.key = "setup.level", .label = "Level", .help = "A level on the platter, with a record on and the arm over the middle of it.", .unit = ""},
    {.key = "setup.suspension", .label = "Suspension", .help = "Transit locks off; bounce the platter: it must rise and fall straight.", .unit = ""},
    {.key = "setup.cartridge", .label = "Cartridge and stylus", .help = "The cartridge and stylus fitted now.", .unit = ""},
    {.key = "setup.mat", .label = "Mat and record", .help = "The mat, and the thickness of the record that the arm is set for.", .unit = ""},
    {.key = "setup.counterweight", .label = "Counterweight", .help = "Which weight is fitted.", .unit = ""},
    {.key = "arm.pivot_to_spindle", .label = "Pivot to spindle", .help = "A caliper or a gauge on spindle and pivot, in plan.", .unit = "mm", .procedure = "align"},
    {.key = "setup.height", .label = "Arm height", .help = "A ruler from the board to the arm's pillar, or the pillar's own scale.", .unit = "mm", .procedure = "rake"},
    {.key = "arm.overhang", .label = "Overhang", .help = "A gauge on the spindle, or both points of a two-point grid.", .unit = "mm", .procedure = "template"},
    {.key = "arm.offset", .label = "Offset", .help = "The cantilever, not the body, along the grid's lines at both points.", .unit = "deg", .procedure = "align"},
    {.key = "setup.azimuth", .label = "Azimuth", .help = "By the crosstalk of one-sided bands; by eye against a mirror only to begin.", .unit = "deg", .procedure = "azimuth"},
    {.key = "setup.lateral_balance", .label = "Balance to the sides", .help = "Tilt the deck a little with the arm afloat: it must not swing away.", .unit = ""},
    {.key = "force.reading", .label = "Tracking force", .help = "A checked scale with its pan at the height of a record.", .unit = "g", .procedure = "force"},
    {.key = "rake.measured", .label = "Rake", .help = "A photograph from the side, or the height of both ends of the tube.", .unit = "deg", .procedure = "rake"},
    {.key = "setup.anti_skate", .label = "Anti-skate", .help = "The dial, thread or weight as set; the dial's figures are no measure.", .unit = "", .procedure = "tracking"},
    {.key = "setup.resonance", .label = "Resonance of arm and cartridge", .help = "A low sweep, each way.", .unit = "Hz", .procedure = "lowsweep"},
    {.key = "setup.loading", .label = "Load of the cartridge", .help = "Lead and input capacitance together, and the resistance.", .unit = "", .procedure = "load"},
    {.key = "setup.lift", .label = "Lift and set-down", .help = "The stylus clear of the record when raised; where it comes down.", .unit = "mm"},
    {.key = "setup.speed", .label = "Speed", .help = "With the stylus in the groove, cold and warm.", .unit = "rpm", .procedure = "speed"},
    {.key = "setup.tracking", .label = "Tracking on both channels", .help = "The tracking bands, loudest last.", .unit = "", .procedure = "tracking"},
};

#define PRACTICE "common practice, no source"
#define GEOMETRY "by geometry"

static const DwGuideBearing bearings[] = {
    {.from = "setup.drive", .to = "setup.speed", .why = "A new belt, fresh oil or a worked-on motor changes ratio and drag, so the speed moves, cold and warm.", .source = PRACTICE},
    {.from = "setup.level", .to = "setup.suspension", .why = "Springs hang by the weight above them, and level shares that weight out.", .source = PRACTICE},
    {.from = "setup.level", .to = "setup.azimuth", .why = "An arm on a single point leans with the deck.", .source = PRACTICE},
    {.from = "setup.level", .to = "force.reading", .why = "An arm balanced by its weight alone presses otherwise when the deck stands otherwise.", .source = PRACTICE},
    {.from = "setup.level", .to = "setup.anti_skate", .why = "A tilt pulls the arm to one side as anti-skate does.", .source = PRACTICE},
    {.from = "setup.suspension", .to = "setup.level", .why = "The springs carry platter and arm: moving them tilts what was levelled.", .source = PRACTICE, .back = true},
    {.from = "setup.suspension", .to = "setup.speed", .why = "A chassis at another height runs the belt on another part of the pulley.", .source = PRACTICE},
    {.from = "setup.cartridge", .to = "setup.height", .why = "Another cartridge is taller or lower, and the arm no longer lies parallel.", .source = PRACTICE},
    {.from = "setup.cartridge", .to = "arm.overhang", .why = "Each cartridge holds its stylus at another distance from the mounting holes.", .source = PRACTICE},
    {.from = "setup.cartridge", .to = "arm.offset", .why = "No two cantilevers sit alike in their bodies.", .source = PRACTICE},
    {.from = "setup.cartridge", .to = "setup.azimuth", .why = "No two styli sit alike on their cantilevers.", .source = PRACTICE},
    {.from = "setup.cartridge", .to = "setup.lateral_balance", .why = "Another weight stands at another place in the headshell.", .source = PRACTICE},
    {.from = "setup.cartridge", .to = "force.reading", .why = "Another weight hangs at the headshell, and the maker wants another force.", .source = PRACTICE},
    {.from = "setup.cartridge", .to = "rake.measured", .why = "No two styli lean alike.", .source = PRACTICE},
    {.from = "setup.cartridge", .to = "setup.anti_skate", .why = "The shape of the tip decides its friction in the groove, which pulls the arm inwards.", .source = PRACTICE},
    {.from = "setup.cartridge", .to = "setup.resonance", .why = "Mass and compliance make the resonance, and both are others now.", .source = "f = 1/(2π√(m·c))"},
    {.from = "setup.cartridge", .to = "setup.loading", .why = "Each cartridge has its own inductance and wants its own load.", .source = PRACTICE},
    {.from = "setup.cartridge", .to = "setup.lift", .why = "The stylus hangs lower or higher under the arm.", .source = PRACTICE},
    {.from = "setup.cartridge", .to = "setup.tracking", .why = "It is the cartridge that tracks.", .source = PRACTICE},
    {.from = "setup.mat", .to = "setup.height", .why = "The record lies higher or lower against the arm.", .source = GEOMETRY},
    {.from = "setup.mat", .to = "force.reading", .why = "Where the counterweight hangs low, the force changes with the height of the record.", .source = PRACTICE},
    {.from = "setup.mat", .to = "rake.measured", .why = "The arm slopes otherwise to a record that lies higher or lower.", .source = GEOMETRY},
    {.from = "setup.mat", .to = "setup.lift", .why = "The record comes nearer to the raised stylus, or further from it.", .source = GEOMETRY},
    {.from = "setup.counterweight", .to = "setup.lateral_balance", .why = "The weight may hang off the arm's axis.", .source = PRACTICE},
    {.from = "setup.counterweight", .to = "force.reading", .why = "The force comes from the weight and its place.", .source = GEOMETRY},
    {.from = "setup.counterweight", .to = "setup.resonance", .why = "The weight is part of the arm's effective mass.", .source = "m = Σ mass·(distance/length)²"},
    {.from = "arm.pivot_to_spindle", .to = "arm.overhang", .why = "Overhang is effective length less pivot to spindle.", .source = GEOMETRY},
    {.from = "arm.pivot_to_spindle", .to = "arm.offset", .why = "With another distance neither point of the grid is met at the old angle.", .source = GEOMETRY},
    {.from = "setup.height", .to = "arm.overhang", .why = "A sloping arm reaches less far in plan.", .source = GEOMETRY},
    {.from = "setup.height", .to = "setup.azimuth", .why = "Where the bearing's axis stands square to the arm and not to the cartridge, sloping the arm also leans the cartridge.", .source = GEOMETRY},
    {.from = "setup.height", .to = "force.reading", .why = "Where the counterweight hangs low, the force changes with the slope of the arm.", .source = PRACTICE},
    {.from = "setup.height", .to = "rake.measured", .why = "The stylus leans with the arm, degree for degree.", .source = GEOMETRY},
    {.from = "setup.height", .to = "setup.anti_skate", .why = "A thread and weight pull at another angle.", .source = PRACTICE},
    {.from = "setup.height", .to = "setup.lift", .why = "The lift moves with the arm's pillar.", .source = PRACTICE},
    {.from = "arm.overhang", .to = "arm.offset", .why = "Moving the cartridge along its slots turns it against the grid; the two are set together.", .source = GEOMETRY},
    {.from = "arm.overhang", .to = "setup.lateral_balance", .why = "The cartridge's weight moved.", .source = PRACTICE},
    {.from = "arm.overhang", .to = "force.reading", .why = "The stylus stands further from the pivot or nearer to it, and the cartridge's weight with it.", .source = GEOMETRY},
    {.from = "arm.offset", .to = "arm.overhang", .why = "Turning the cartridge about its screws moves the stylus along.", .source = GEOMETRY, .back = true},
    {.from = "setup.azimuth", .to = "arm.offset", .why = "The headshell does not turn about the cantilever's own axis.", .source = PRACTICE, .back = true},
    {.from = "setup.azimuth", .to = "setup.lateral_balance", .why = "A turned headshell hangs its weight to one side.", .source = PRACTICE},
    {.from = "setup.azimuth", .to = "force.reading", .why = "The cartridge's weight moved, and the stylus with it.", .source = PRACTICE},
    {.from = "setup.azimuth", .to = "rake.measured", .why = "Turning the headshell about the tube of an arm with an offset also tips the stylus.", .source = GEOMETRY},
    {.from = "setup.lateral_balance", .to = "setup.anti_skate", .why = "An arm that falls to one side adds to the anti-skate or takes from it.", .source = PRACTICE},
    {.from = "force.reading", .to = "arm.overhang", .why = "The cantilever gives way and the stylus moves forward.", .source = PRACTICE, .back = true},
    {.from = "force.reading", .to = "rake.measured", .why = "The cantilever gives way and the stylus leans otherwise.", .source = PRACTICE},
    {.from = "force.reading", .to = "setup.anti_skate", .why = "The pull inwards is friction, and friction grows with the force.", .source = "skating force = friction · force · tan"},
    {.from = "force.reading", .to = "setup.speed", .why = "The stylus brakes the platter, the more the harder it presses.", .source = PRACTICE},
    {.from = "force.reading", .to = "setup.tracking", .why = "What a stylus tracks depends first on its force.", .source = PRACTICE},
    {.from = "rake.measured", .to = "arm.overhang", .why = "A wedge or a spacer under the cartridge moves the stylus along.", .source = GEOMETRY, .back = true},
    {.from = "rake.measured", .to = "force.reading", .why = "A wedge or a spacer adds weight and moves the stylus.", .source = PRACTICE, .back = true},
    {.from = "setup.anti_skate", .to = "setup.tracking", .why = "It shares the force out between the two walls of the groove.", .source = PRACTICE},
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
