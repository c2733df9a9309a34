// SPDX-License-Identifier: MIT
#include "book/job/experience.h"

#include "base/memory.h"
#include "book/store/private.h"

#include <stdlib.h>

// The deck at hand, and each pair of a job and a cause that was confirmed on it. ?1 is the job at hand.
#define CONFIRMED                                                                                                      \
    "WITH mine AS (SELECT drive, lower(trim(coalesce(make, ''))) AS make, lower(trim(coalesce(model, ''))) AS model "  \
    "FROM deck WHERE id = (SELECT deck_id FROM job WHERE id = ?1)), "                                                  \
    "confirmed AS (SELECT DISTINCT job.id AS job, lower(trim(finding.cause)) AS cause, "                               \
    "mine.model IS NOT NULL AND mine.model <> '' AND lower(trim(coalesce(deck.make, ''))) = mine.make "                \
    "AND lower(trim(coalesce(deck.model, ''))) = mine.model AS same, deck.operation AS operation, "                    \
    "EXISTS (SELECT 1 FROM job AS back WHERE back.warranty_of_id = job.id) AS returned "                               \
    "FROM finding JOIN job ON job.id = finding.job_id JOIN deck ON deck.id = job.deck_id LEFT JOIN mine "              \
    "WHERE finding.confirmed = 'confirmed' AND trim(coalesce(finding.cause, '')) <> '' "                               \
    "AND job.state = 'handed over' AND job.id <> ?1 "                                                                  \
    "AND (mine.drive IS NULL OR mine.drive = 'unknown' OR deck.drive = mine.drive)) "

static const char causes[] =
    CONFIRMED "SELECT (SELECT trim(finding.cause) FROM finding WHERE lower(trim(finding.cause)) = confirmed.cause "
              "ORDER BY finding.id LIMIT 1), count(*), sum(same), sum(returned) FROM confirmed GROUP BY cause "
              "ORDER BY count(*) DESC, cause";
static const char complaints[] = CONFIRMED
    "SELECT cause, symptom, count(*) FROM (SELECT confirmed.cause AS cause, (SELECT finding.symptom FROM finding "
    "WHERE finding.job_id = confirmed.job AND finding.confirmed = 'confirmed' "
    "AND lower(trim(finding.cause)) = confirmed.cause ORDER BY finding.id LIMIT 1) AS symptom "
    "FROM confirmed GROUP BY confirmed.job HAVING count(*) = 1) GROUP BY cause, symptom ORDER BY cause, symptom";
#define JOBS "count(DISTINCT CASE WHEN "
#define AUTOMATIC "operation IN ('semi-automatic', 'automatic', 'changer')"
#define CHANGER "operation = 'changer'"
static const char totals[] = CONFIRMED "SELECT count(DISTINCT job), " JOBS "same THEN job END), " JOBS AUTOMATIC
                                       " THEN job END), " JOBS AUTOMATIC " AND same THEN job END), " JOBS CHANGER
                                       " THEN job END), " JOBS CHANGER " AND same THEN job END) FROM confirmed";

static DwStatus read_totals(DwBook *book, int64_t job, DwExperience *experience, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, totals);
    dw_query_bind_integer(&query, job);
    if (dw_query_step(&query)) {
        experience->decks = dw_query_integer(&query, 0);
        experience->of_model = dw_query_integer(&query, 1);
        experience->automatic.decks = dw_query_integer(&query, 2);
        experience->automatic.of_model = dw_query_integer(&query, 3);
        experience->changer.decks = dw_query_integer(&query, 4);
        experience->changer.of_model = dw_query_integer(&query, 5);
    }
    return dw_query_end(&query, message);
}

static DwStatus read_complaints(DwBook *book, int64_t job, DwExperience *experience, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, complaints);
    dw_query_bind_integer(&query, job);
    while (dw_query_step(&query)) {
        experience->complaints =
            dw_memory_resize(experience->complaints, experience->complaint_count + 1, sizeof *experience->complaints);
        experience->complaints[experience->complaint_count++] =
            (DwExperienceComplaint){dw_memory_text(dw_query_text(&query, 0)), dw_memory_text(dw_query_text(&query, 1)),
                                    dw_query_integer(&query, 2)};
    }
    return dw_query_end(&query, message);
}

DwStatus dw_experience_read(DwBook *book, int64_t job, DwExperience *experience, DwMessage *message)
{
    *experience = (DwExperience){0};
    DwStatus status = read_totals(book, job, experience, message);
    if (status != DW_OK)
        return status;
    DwQuery query = dw_query_begin(book, causes);
    dw_query_bind_integer(&query, job);
    while (dw_query_step(&query)) {
        experience->rows = dw_memory_resize(experience->rows, experience->count + 1, sizeof *experience->rows);
        experience->rows[experience->count++] =
            (DwExperienceRow){dw_memory_text(dw_query_text(&query, 0)), dw_query_integer(&query, 1),
                              dw_query_integer(&query, 2), dw_query_integer(&query, 3)};
    }
    status = dw_query_end(&query, message);
    if (status == DW_OK)
        status = read_complaints(book, job, experience, message);
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
