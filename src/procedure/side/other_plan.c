// SPDX-License-Identifier: MIT
#include "procedure/side/other_plan.h"

#include "base/memory.h"
#include "base/text.h"
#include "measure/side/side_find.h"
#include "procedure/registry/data_table.h"

#include <dirent.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const double WORTH_S = 3;                // shorter stretches are words, or pieces
static const double HALF = 0.5;                 // of what a side's own plan would explain
static const double OWN = 0.75;                 // both shares in one, of a plan that is the side's own
static const double FITS = 0.6, CLEARLY = 0.25; // of the other plan, and over this one
enum { PLANS_MOST = 200 };

static bool sounds(const DwBandPlanBand *band)
{
    return !band->broken && band->kind != DW_PLAN_SILENCE;
}

// Seconds at nominal speed that BAND and what was found of it share; none where only chance may have put them together.
static double shared_s(const DwBandPlanBand *band, const DwSideBand *found, double ratio)
{
    bool placed = found->verdict == DW_SIDE_FOUND || found->verdict == DW_SIDE_SHORT || found->verdict == DW_SIDE_LONG;
    return placed && sounds(band) ? fmin(band->length_s, (found->end_s - found->start_s) * ratio) : 0;
}

DwPlanFit dw_other_plan_fit(const DwBandPlan *plan, const DwSideAlignment *alignment, const DwSideSegment *segments,
                            size_t count)
{
    double ratio = isnan(alignment->speed_ratio) ? 1 : alignment->speed_ratio, heard_s = 0, planned_s = 0, both_s = 0;
    for (size_t i = 0; i < count; i++) {
        double length_s = (segments[i].end_s - segments[i].start_s) * ratio;
        if (segments[i].kind != DW_PLAN_SILENCE && length_s >= WORTH_S)
            heard_s += length_s;
    }
    for (size_t j = 0; j < plan->count; j++) {
        planned_s += sounds(&plan->bands[j]) ? plan->bands[j].length_s : 0;
        both_s += shared_s(&plan->bands[j], &alignment->bands[j], ratio);
    }
    return (DwPlanFit){heard_s > 0 ? fmin(1, both_s / heard_s) : 1, planned_s > 0 ? both_s / planned_s : 1};
}

bool dw_other_plan_is_doubtful(DwPlanFit fit)
{
    return fit.explained < HALF && fit.played < HALF;
}

// Both shares in one: high only where both are.
static double both(DwPlanFit fit)
{
    double sum = fit.explained + fit.played;
    return sum > 0 ? 2 * fit.explained * fit.played / sum : 0;
}

bool dw_other_plan_is_worth_a_look(DwPlanFit fit)
{
    return both(fit) < OWN;
}

typedef struct {
    DwSideFinder *finder;
    bool mono;
    struct stat tried; // the plan that does not fit
    double most;
    char *name;
} Search;

// Tries the plan at PATH, which record.plan would call NAME.
static void try_plan(Search *search, const char *path, const char *name)
{
    struct stat here;
    DwBandPlan plan;
    DwPlanTroubles troubles = {0};
    DwMessage message;
    if (stat(path, &here) != 0 || (here.st_dev == search->tried.st_dev && here.st_ino == search->tried.st_ino) ||
        dw_band_plan_examine(path, &plan, &troubles, &message) != DW_OK)
        return;
    DwSideAlignment alignment;
    size_t count;
    dw_side_find(search->finder, &plan, search->mono, &alignment);
    const DwSideSegment *segments = dw_side_finder_segments(search->finder, &count);
    double fit = plan.count ? both(dw_other_plan_fit(&plan, &alignment, segments, count)) : 0;
    if (fit > search->most) {
        search->most = fit;
        free(search->name);
        search->name = dw_memory_text(name);
    }
    dw_side_alignment_clear(&alignment);
    dw_plan_troubles_clear(&troubles);
    dw_band_plan_clear(&plan);
}

// Tries each plan in FOLDER; BARE: record.plan finds them by their file's name alone.
static void try_folder(Search *search, const char *folder, bool bare)
{
    struct dirent **entries = NULL;
    int count = scandir(folder, &entries, NULL, alphasort);
    for (int i = 0; i < count; i++) {
        const char *dot = strrchr(entries[i]->d_name, '.');
        if (i < PLANS_MOST && entries[i]->d_name[0] != '.' && dot && strcmp(dot, ".plan") == 0) {
            char *path = dw_text_format("%s/%s", folder, entries[i]->d_name);
            try_plan(search, path, bare ? entries[i]->d_name : path);
            free(path);
        }
        free(entries[i]);
    }
    free(entries);
}

char *dw_other_plan_find(const char *path, DwSideFinder *finder, bool mono, DwPlanFit fit)
{
    Search search = {.finder = finder, .mono = mono, .most = fmax(FITS, both(fit) + CLEARLY)};
    stat(path, &search.tried);
    char *own = dw_text_format("%s/plans", dw_data_folder());
    try_folder(&search, own, true);
    const char *slash = strrchr(path, '/');
    char *beside = slash ? dw_text_format("%.*s", (int)(slash - path), path) : dw_memory_text(".");
    try_folder(&search, beside, !slash);
    free(beside);
    free(own);
    return search.name;
}
