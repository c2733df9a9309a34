// SPDX-License-Identifier: MIT
#include "web/measure/question.h"

#include "web/server/words.h"

#include <string.h>

// clang-format off
static const DwQuestion whole[] = {
    {"side", N_("What does a whole side of a test record say?"), {"record.plan", "deck.speed", "record.name", "chain.name"}},
    {"pressing", N_("What is the record's own, and what the deck's?"), {"record.plan", "pressing.copies", "pressing.decks", "chain.name"}},
};

static const DwQuestion own_music[] = {
    {"held", N_("Does it wow on the owner's own music?"), {"deck.speed", "music.tuning", "record.name", "chain.name"}},
    {"twin", N_("What changed between two recordings of one record?"), {"deck.speed", "record.name", "chain.name"}},
};

static const DwQuestion turning[] = {
    {"speed", N_("How fast, and how steadily?"), {"record.tone", "deck.speed", "record.name", "chain.name"}},
    {"startup", N_("How long until it is at speed?"), {"record.tone", "deck.speed", "record.name", "chain.name"}},
    {"film", N_("Does the platter itself run evenly? By a film"), {"deck.speed", "camera.shutter"}},
    {"reseat", N_("Is it the record or the deck?"), {"reseat.angle", "record.tone", "deck.speed", "record.name", "chain.name"}},
    {"ratio", N_("Is one speed right against another?"), {"ratio.first", "ratio.second", "record.tone"}},
    {"drive", N_("What should the pulley and the belt be?"), {"drive.kind", "deck.mains", "drive.motor_kind", "drive.motor_poles", "drive.pulley_diameter", "drive.rim_diameter", "drive.centre_distance"}},
    {"strobe", N_("A disc to see the speed by"), {"deck.speed", "deck.mains", "strobe.paper"}},
    {"belt", N_("How long is the belt? By a photograph"), {"belt.thickness", "print.scale", "drive.belt_length"}},
    {"bearing", N_("Does the platter run freely?"), {"bearing.at", "bearing.before", "platter.mass", "platter.diameter", "oil.grade"}},
};

static const DwQuestion added[] = {
    {"noise", N_("How much rumble, hum and hiss?"), {"noise.reference", "record.name", "chain.name"}},
    {"channels", N_("Are both channels alike, and apart?"), {"channels.order", "channels.left", "channels.right", "record.name", "chain.name"}},
    {"response", N_("Is treble as loud as bass?"), {"response.riaa", "response.channel", "record.name", "chain.name"}},
    {"intermod", N_("How clean is it when it is loud?"), {"record.name", "chain.name"}},
    {"tracking", N_("How loud can it still track?"), {"tracking.step", "tracking.level", "force.reading", "record.name", "chain.name"}},
};

static const DwQuestion arm[] = {
    {"align", N_("Where do the arm and its cartridge belong?"), {"arm.kind", "arm.pivot_to_spindle", "arm.effective_length", "arm.overhang", "arm.offset", "align.method"}},
    {"pose", N_("Where do arm and cartridge stand? By photographs"), {"touch.tip", "touch.cantilever_root", "touch.cantilever_front", "touch.body_rear", "touch.body_front", "arm.pivot_to_spindle", "arm.effective_length"}},
    {"template", N_("A paper to set the arm by"), {"template.kind", "template.paper", "arm.pivot_to_spindle", "arm.effective_length", "align.method"}},
    {"force", N_("How hard does the stylus press?"), {"force.reading", "force.target", "force.low", "force.high"}},
    {"rake", N_("Does the stylus lean rightly?"), {"rake.measured", "rake.point", "rake.target", "arm.effective_length"}},
    {"azimuth", N_("Does the cartridge stand upright?"), {"azimuth.tilt", "channels.left", "channels.right", "record.name", "chain.name"}},
};

static const DwQuestion together[] = {
    {"resonance", N_("Where should the arm resonate?"), {"arm.effective_mass", "cartridge.mass", "cartridge.compliance", "cartridge.compliance_frequency"}},
    {"lowsweep", N_("Where does the arm resonate?"), {"arm.effective_mass", "cartridge.mass", "record.name", "chain.name"}},
    {"load", N_("Which load does the cartridge want?"), {"cartridge.inductance", "cartridge.resistance", "cable.capacitance", "preamp.resistance", "preamp.capacitance"}},
    {"riaa", N_("Does the preamplifier equalise rightly?"), {"riaa.frequency", "riaa.measured"}},
};

static const DwQuestionGroup groups[] = {
    {N_("All of it at once"), whole, sizeof whole / sizeof *whole},
    {N_("Does it turn as it should?"), turning, sizeof turning / sizeof *turning},
    {N_("I have no test record"), own_music, sizeof own_music / sizeof *own_music},
    {N_("What does it add to the music?"), added, sizeof added / sizeof *added},
    {N_("Is the arm set right?"), arm, sizeof arm / sizeof *arm},
    {N_("Do arm, cartridge and amplifier suit each other?"), together, sizeof together / sizeof *together},
};

static const struct {
    const char *section, *words;
} sections[] = {
    {"align", N_("Alignment")}, {"arm", N_("Arm")}, {"azimuth", N_("Azimuth")}, {"bearing", N_("Bearing")}, {"belt", N_("Belt on the card")}, {"camera", N_("Camera")},
    {"cable", N_("Cable")}, {"cartridge", N_("Cartridge")}, {"chain", N_("Recording chain")},
    {"channels", N_("Bands of the record")}, {"deck", N_("Deck")}, {"drive", N_("Drive")},
    {"flutter", N_("Wow and flutter")}, {"force", N_("Force and friction")}, {"found", N_("Found as it is set now")},
    {"intermod", N_("Intermodulation")}, {"load", N_("Load")}, {"lowsweep", N_("Low sweep")}, {"music", N_("The owner's music")}, {"noise", N_("Noise")}, {"oil", N_("Oil")},
    {"platter", N_("Platter")}, {"preamp", N_("Preamplifier")}, {"pressing", N_("Takes compared")}, {"print", N_("Printed paper")}, {"printer", N_("Printer")}, {"rake", N_("Rake and height")},
    {"ratio", N_("The two speeds")}, {"record", N_("Test record")}, {"reseat", N_("The record turned between")},
    {"resonance", N_("Resonance")}, {"response", N_("Response")}, {"riaa", N_("Equalisation")}, {"startup", N_("Start")},
    {"strobe", N_("Strobe disc")}, {"template", N_("Template")}, {"touch", N_("Touched in the photographs")}, {"tracking", N_("Tracking bands")},
};
// clang-format on

const DwQuestionGroup *dw_question_group_at(size_t index)
{
    return index < sizeof groups / sizeof *groups ? &groups[index] : NULL;
}

const DwQuestion *dw_question_find(const DwProcedure *procedure)
{
    // A procedure that is new here still has its form.
    static const DwQuestion none = {0};
    for (size_t i = 0; i < sizeof groups / sizeof *groups; i++)
        for (size_t k = 0; k < groups[i].count; k++)
            if (strcmp(groups[i].questions[k].procedure, procedure->name) == 0)
                return &groups[i].questions[k];
    return &none;
}

bool dw_question_begins_with(const DwQuestion *question, const char *key)
{
    for (size_t i = 0; i < sizeof question->first / sizeof *question->first && question->first[i]; i++)
        if (strcmp(question->first[i], key) == 0)
            return true;
    return false;
}

const char *dw_question_section(const char *key)
{
    size_t length = strcspn(key, ".");
    for (size_t i = 0; i < sizeof sections / sizeof *sections; i++)
        if (strlen(sections[i].section) == length && strncmp(sections[i].section, key, length) == 0)
            return sections[i].words;
    return N_("More");
}
