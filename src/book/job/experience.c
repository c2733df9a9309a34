// SPDX-License-Identifier: MIT
#include "book/job/experience.h"

#include "base/memory.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

// Each finding that confirms a cause on another job that was handed over, on a deck of the drive of the deck at hand,
// job by job. ?1 is the job at hand.
static const char confirmed[] =
    "WITH mine AS (SELECT drive, lower(trim(coalesce(make, ''))) AS make, lower(trim(coalesce(model, ''))) AS model "
    "FROM deck WHERE id = (SELECT deck_id FROM job WHERE id = ?1)), "
    "alike AS MATERIALIZED (SELECT deck.id AS id, deck.operation AS operation, mine.model IS NOT NULL "
    "AND mine.model <> '' AND lower(trim(coalesce(deck.make, ''))) = mine.make "
    "AND lower(trim(coalesce(deck.model, ''))) = mine.model AS same FROM deck LEFT JOIN mine "
    "WHERE mine.drive IS NULL OR mine.drive = 'unknown' OR deck.drive = mine.drive) "
    "SELECT finding.job_id, trim(finding.cause, ' ' || char(9, 10, 13)) AS cause, finding.symptom, same, "
    "EXISTS (SELECT 1 FROM job AS back WHERE back.warranty_of_id = job.id), "
    "operation IN ('semi-automatic', 'automatic', 'changer'), operation = 'changer' "
    "FROM finding JOIN job ON job.id = finding.job_id JOIN alike ON alike.id = job.deck_id "
    "WHERE finding.confirmed = 'confirmed' AND cause <> '' AND job.state = 'handed over' AND job.id <> ?1 "
    "ORDER BY finding.job_id, finding.id";

// A cause on a job, once however often it was confirmed there, with the complaints as they stand with it first.
typedef struct {
    char *cause, *symptom;
    int64_t job;
    size_t order; // of reading
    bool same, returned, alone;
} Found;

typedef struct {
    Found *items;
    size_t count;
} FoundList;

static void add_deck(DwExperience *experience, const DwQuery *query)
{
    int64_t same = dw_query_integer(query, 3), automatic = dw_query_integer(query, 5);
    int64_t changer = dw_query_integer(query, 6);
    experience->decks++;
    experience->of_model += same;
    experience->automatic.decks += automatic;
    experience->automatic.of_model += automatic && same;
    experience->changer.decks += changer;
    experience->changer.of_model += changer && same;
}

static void add_found(FoundList *list, DwExperience *experience, const DwQuery *query)
{
    int64_t job = dw_query_integer(query, 0);
    const char *cause = dw_query_text(query, 1);
    size_t first = list->count;
    while (first > 0 && list->items[first - 1].job == job)
        first--;
    for (size_t i = first; i < list->count; i++)
        if (strcasecmp(list->items[i].cause, cause) == 0)
            return;
    for (size_t i = first; i < list->count; i++)
        list->items[i].alone = false;
    if (first == list->count)
        add_deck(experience, query);
    if ((list->count & (list->count - 1)) == 0)
        list->items = dw_memory_resize(list->items, list->count ? 2 * list->count : 1, sizeof *list->items);
    list->items[list->count] = (Found){.cause = dw_memory_text(cause),
                                       .symptom = dw_memory_text(dw_query_text(query, 2)),
                                       .job = job,
                                       .order = list->count,
                                       .same = dw_query_integer(query, 3) != 0,
                                       .returned = dw_query_integer(query, 4) != 0,
                                       .alone = first == list->count};
    list->count++;
}

static int compare_order(const Found *a, const Found *b)
{
    return a->order < b->order ? -1 : a->order > b->order;
}

static int compare_causes(const void *a, const void *b)
{
    const Found *left = a, *right = b;
    int order = strcasecmp(left->cause, right->cause);
    return order ? order : compare_order(left, right);
}

static int compare_complaints(const void *a, const void *b)
{
    const Found *left = a, *right = b;
    int order = strcasecmp(left->cause, right->cause);
    order = order ? order : strcmp(left->symptom, right->symptom);
    return order ? order : compare_order(left, right);
}

static int compare_rows(const void *a, const void *b)
{
    const DwExperienceRow *left = a, *right = b;
    if (left->decks != right->decks)
        return left->decks > right->decks ? -1 : 1;
    return strcasecmp(left->cause, right->cause);
}

static void count_causes(const FoundList *list, DwExperience *experience)
{
    qsort(list->items, list->count, sizeof *list->items, compare_causes);
    experience->rows = dw_memory_new(list->count, sizeof *experience->rows);
    for (size_t i = 0; i < list->count; i++) {
        const Found *found = &list->items[i];
        if (i == 0 || strcasecmp(found->cause, list->items[i - 1].cause) != 0)
            experience->rows[experience->count++].cause = dw_memory_text(found->cause);
        DwExperienceRow *row = &experience->rows[experience->count - 1];
        row->decks++;
        row->of_model += found->same;
        row->returned += found->returned;
    }
    qsort(experience->rows, experience->count, sizeof *experience->rows, compare_rows);
}

static void count_complaints(const FoundList *list, DwExperience *experience)
{
    qsort(list->items, list->count, sizeof *list->items, compare_complaints);
    experience->complaints = dw_memory_new(list->count, sizeof *experience->complaints);
    for (size_t i = 0; i < list->count; i++) {
        const Found *found = &list->items[i];
        if (i == 0 || strcasecmp(found->cause, list->items[i - 1].cause) != 0 ||
            strcmp(found->symptom, list->items[i - 1].symptom) != 0)
            experience->complaints[experience->complaint_count++] = (DwExperienceComplaint){
                .cause = dw_memory_text(found->cause), .symptom = dw_memory_text(found->symptom)};
        DwExperienceComplaint *complaint = &experience->complaints[experience->complaint_count - 1];
        complaint->decks++;
        complaint->alone += found->alone;
    }
}

DwStatus dw_experience_read(DwBook *book, int64_t job, DwExperience *experience, DwMessage *message)
{
    *experience = (DwExperience){0};
    FoundList list = {0};
    DwQuery query = dw_query_begin(book, confirmed);
    dw_query_bind_integer(&query, job);
    while (dw_query_step(&query))
        add_found(&list, experience, &query);
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK && list.count) {
        count_causes(&list, experience);
        count_complaints(&list, experience);
    }
    for (size_t i = 0; i < list.count; i++) {
        free(list.items[i].cause);
        free(list.items[i].symptom);
    }
    free(list.items);
    if (status != DW_OK)
        dw_experience_clear(experience);
    return status;
}

void dw_experience_clear(DwExperience *experience)
{
    for (size_t i = 0; i < experience->count; i++)
        free(experience->rows[i].cause);
    free(experience->rows);
    for (size_t i = 0; i < experience->complaint_count; i++) {
        free(experience->complaints[i].cause);
        free(experience->complaints[i].symptom);
    }
    free(experience->complaints);
    *experience = (DwExperience){0};
}
