// SPDX-License-Identifier: MIT
// guide practise: a deck with a hidden fault. The learner chooses questions and tests, hears a recording where the
// fault can be played, and is shown afterwards what the guide would have done with the same deck.
#include "base/memory.h"
#include "base/text.h"
#include "cli/guide_call.h"
#include "guide/guide_reason.h"
#include "synth/random.h"
#include "cli/tell.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { STEPS_MOST = 12, COMPLAINTS_MOST = 2 };

typedef struct {
    DwGuideCall *call;
    FILE *in, *out;
    uint64_t seed;
    size_t fault;
    int drive;
    bool *is_so; // of each sign, drawn once
    bool *asked; // of each sign
    double minutes;
    unsigned steps;
    const char *sound; // file to write recordings to, or NULL
    char line[300];
} Practice;

// Uniform from 0 to 1 by the seed and a place, so that a sign is the same in whatever order it is asked.
static double drawn(const Practice *practice, size_t place)
{
    DwRandom random;
    dw_random_init(&random, practice->seed + 7919 * (uint64_t)place, DW_STREAM_NOISE_LEFT);
    return dw_random_between(&random, 0, 1);
}

// A drive by its share and a fault by its prior on it, of those that somebody complains of.
static void draw_fault(Practice *practice)
{
    const DwGuideKnowledge *knowledge = practice->call->knowledge;
    DwGuideCase *guide_case = &practice->call->guide_case;
    double at = drawn(practice, 1), total = 0;
    for (practice->drive = 0; guide_case->drive < 0 && practice->drive + 1 < DW_GUIDE_DRIVES; practice->drive++) {
        at -= dw_guide_drive_share((size_t)practice->drive);
        if (at < 0)
            break;
    }
    if (guide_case->drive >= 0)
        practice->drive = guide_case->drive;
    guide_case->drive = practice->drive;
    for (size_t f = 0; f < knowledge->fault_count; f++)
        total += dw_guide_case_prior(guide_case, f);
    at = drawn(practice, 2) * total;
    for (size_t f = 0; f < knowledge->fault_count; f++) {
        double prior = dw_guide_case_prior(guide_case, f);
        if (prior > 0)
            practice->fault = f;
        at -= prior;
        if (at < 0)
            break;
    }
}

// Whether something that was drawn so cannot be so together with the sign at PLACE.
static bool is_ruled_out(const Practice *practice, size_t place)
{
    const DwGuideKnowledge *knowledge = practice->call->knowledge;
    bool out = false;
    for (size_t i = 0; i < knowledge->sign_count; i++)
        for (size_t k = 0; k < knowledge->signs[i].against_count; k++) {
            size_t other = knowledge->signs[i].against[k];
            out |= (i == place && practice->is_so[other]) || (other == place && practice->is_so[i]);
        }
    return out;
}

// Draws the signs from place FIRST to LAST, those that the fault makes before what is so for another reason. What is
// complained of is measured too.
static void draw_signs(Practice *practice, size_t first, size_t last)
{
    for (int made = 1; made >= 0; made--)
        for (size_t i = first; i < last; i++) {
            const DwGuideSign *sign = &practice->call->knowledge->signs[i];
            double own = dw_guide_sign_own_chance(sign, practice->fault), not_so = (1 - sign->leak) * (1 - own);
            if (sign->is_measure && practice->is_so[sign->measured])
                not_so *= dw_guide_not_measured;
            if ((own > 0) == made && !is_ruled_out(practice, i))
                practice->is_so[i] = drawn(practice, 100 + i) < 1 - not_so;
        }
}

// What the owner would say of the fault first; -1 where it makes no complaint.
static int likeliest_complaint(const Practice *practice, bool so)
{
    const DwGuideKnowledge *knowledge = practice->call->knowledge;
    int best = -1;
    for (size_t i = 0; i < knowledge->symptom_count; i++) {
        double chance = dw_guide_sign_own_chance(&knowledge->signs[i], practice->fault);
        bool fits = chance > 0 && !practice->asked[i] && (practice->is_so[i] || !so);
        if (fits && (best < 0 || chance > dw_guide_sign_own_chance(&knowledge->signs[best], practice->fault)))
            best = (int)i;
    }
    return best;
}

// The complaints, of which there is at least one, then what the tests show.
static void draw_deck(Practice *practice)
{
    const DwGuideKnowledge *knowledge = practice->call->knowledge;
    draw_signs(practice, 0, knowledge->symptom_count);
    int likeliest = likeliest_complaint(practice, true);
    if (likeliest < 0)
        likeliest = likeliest_complaint(practice, false);
    if (likeliest >= 0)
        practice->is_so[likeliest] = true;
    draw_signs(practice, knowledge->symptom_count, knowledge->sign_count);
}

// What the owner brings it in for: the likeliest complaints that are so.
static void complain(Practice *practice)
{
    const DwGuideKnowledge *knowledge = practice->call->knowledge;
    dw_tell(practice->out, "The owner says:");
    for (unsigned said = 0; said < COMPLAINTS_MOST;) {
        int best = likeliest_complaint(practice, true);
        if (best < 0)
            break;
        const char *phrases = knowledge->signs[best].phrases.texts[0];
        practice->asked[best] = true;
        dw_guide_case_answer(&practice->call->guide_case, (size_t)best, DW_GUIDE_YES);
        fprintf(practice->out, "%s “%.*s”", said ? ";" : "", (int)strcspn(phrases, ";"), phrases);
        said++;
        if (drawn(practice, 3) < 0.5)
            break;
    }
    fputc('\n', practice->out);
}

static void show_sign(Practice *practice, size_t sign)
{
    practice->asked[sign] = true;
    fprintf(practice->out, "  %s %s\n", practice->call->knowledge->signs[sign].ask,
            practice->is_so[sign] ? dw_said("Yes.") : dw_said("No."));
}

// Writes what a record sounds like on this deck, where the fault can be played.
static void play(Practice *practice, const DwGuideTest *test)
{
    const char *sound = practice->call->knowledge->faults[practice->fault].sound;
    if (!practice->sound || !test->procedure)
        return;
    char *words[12], *text = dw_memory_text(sound ? sound : ""), *at = text, *state = NULL;
    int count = 0;
    words[count++] = (char *)practice->sound;
    words[count++] = (char *)"synth.length=40s";
    words[count++] = (char *)"synth.snr=55dB";
    for (char *word; count < 12 && (word = strtok_r(at, " ", &state)); at = NULL)
        words[count++] = word;
    if (dw_command_synth.run(count, words) == DW_EXIT_MEASURED)
        dw_tell(practice->out, "  A 3150 Hz band played on it: %s (listen, or: deckwright %s %s record.tone=3150Hz)\n",
                practice->sound, strcmp(test->procedure, "noise") == 0 ? "speed" : test->procedure, practice->sound);
    free(text);
}

static void make_test(Practice *practice, size_t place)
{
    const DwGuideTest *test = &practice->call->knowledge->tests[place];
    dw_tell(practice->out, "%s, %g minutes\n", test->name, test->minutes);
    if (test->caution)
        fprintf(practice->out, "  ! %s\n", test->caution);
    for (size_t i = 0; i < test->sign_count; i++)
        show_sign(practice, test->signs[i]);
    play(practice, test);
    practice->minutes += test->minutes;
    practice->steps++;
}

static void list_tests(Practice *practice)
{
    const DwGuideKnowledge *knowledge = practice->call->knowledge;
    for (size_t i = 0; i < knowledge->test_count; i++)
        dw_tell(practice->out, "  %-18s %3g min  %s\n", knowledge->tests[i].key, knowledge->tests[i].minutes,
                knowledge->tests[i].name);
}

// What the guide would have done: its steps with the same deck, each answered as it is.
static void show_way(Practice *practice)
{
    const DwGuideKnowledge *knowledge = practice->call->knowledge;
    DwGuideCase *guide_case = &practice->call->guide_case;
    double minutes = 0;
    unsigned steps = 0;
    dw_tell(practice->out, "The guide's way with the same deck:\n");
    for (;;) {
        DwGuideReasons reasons;
        dw_guide_reason(guide_case, &reasons);
        const DwGuideStep *step = reasons.step_count ? &reasons.steps[0] : NULL;
        bool over = !step || step->again || steps == STEPS_MOST || reasons.standing != DW_GUIDE_ASKING;
        if (over) {
            char *words = dw_guide_standing_words(guide_case, &reasons);
            dw_tell(practice->out, "  %u steps, %g minutes. %s\n", steps, minutes, words);
            free(words);
        } else {
            const DwGuideTest *test = step->test < 0 ? NULL : &knowledge->tests[step->test];
            fprintf(practice->out, "  %s\n", test ? test->name : knowledge->signs[step->symptom].ask);
            minutes += test ? test->minutes : 1;
            for (size_t i = 0; i < knowledge->sign_count; i++)
                if (dw_guide_step_asks(guide_case, step, i))
                    dw_guide_case_answer_asked(guide_case, i, practice->is_so[i] ? DW_GUIDE_YES : DW_GUIDE_NO);
            steps++;
        }
        dw_guide_reasons_clear(&reasons);
        if (over)
            return;
    }
}

static void end(Practice *practice, const char *guess)
{
    const DwGuideKnowledge *knowledge = practice->call->knowledge;
    const DwGuideFault *fault = &knowledge->faults[practice->fault];
    bool right = guess && strcmp(guess, fault->key) == 0;
    dw_tell(practice->out, "%sIt was this: %s (%s). You took %u steps, %g minutes.\n",
            !guess  ? ""
            : right ? dw_said("Right. ")
                    : dw_said("No. "),
            fault->name, fault->key, practice->steps, practice->minutes);
    show_way(practice);
}

// Takes one line; false when the practice is over.
static bool take(Practice *practice)
{
    const DwGuideKnowledge *knowledge = practice->call->knowledge;
    const char *word = practice->line;
    if (strcmp(word, "q") == 0) {
        end(practice, NULL);
        return false;
    }
    if (strcmp(word, "tests") == 0) {
        list_tests(practice);
        return true;
    }
    if (strncmp(word, "symptom.", 8) == 0 && dw_guide_sign_find(knowledge, word) >= 0) {
        show_sign(practice, (size_t)dw_guide_sign_find(knowledge, word));
        practice->minutes += 1;
        practice->steps++;
        return true;
    }
    if (strncmp(word, "it is ", 6) == 0 && dw_guide_fault_find(knowledge, word + 6) >= 0) {
        end(practice, word + 6);
        return false;
    }
    int test = dw_guide_test_find(knowledge, word);
    if (test >= 0)
        make_test(practice, (size_t)test);
    else
        dw_tell(practice->out,
                "Name a test ('tests' lists them) or a complaint to ask for (symptom.hum); say 'it is FAULT' once you "
                "know ('deckwright guide list faults'), or q to be told.\n");
    return true;
}

static bool read_line(Practice *practice)
{
    fputs("> ", practice->out);
    fflush(practice->out);
    if (!fgets(practice->line, sizeof practice->line, practice->in))
        return false;
    practice->line[strcspn(practice->line, "\r\n")] = 0;
    return true;
}

int dw_guide_call_practise(DwGuideCall *call, uint64_t seed, const char *sound, FILE *in, FILE *out)
{
    static const char *const drives[DW_GUIDE_DRIVES] = {"belt", "idler wheel", "direct drive"};
    size_t signs = call->knowledge->sign_count + 1;
    Practice practice = {.call = call,
                         .in = in,
                         .out = out,
                         .seed = seed ? seed : (uint64_t)time(NULL),
                         .is_so = dw_memory_new(signs, sizeof(bool)),
                         .asked = dw_memory_new(signs, sizeof(bool)),
                         .sound = sound};
    draw_fault(&practice);
    draw_deck(&practice);
    dw_tell(out, "A deck stands on the bench: %s. Seed %llu brings it again.\n", drives[practice.drive],
            (unsigned long long)practice.seed);
    complain(&practice);
    bool over = false;
    while (!over && read_line(&practice))
        over = !take(&practice);
    if (!over)
        end(&practice, NULL);
    free(practice.is_so);
    free(practice.asked);
    return DW_EXIT_MEASURED;
}
