// SPDX-License-Identifier: MIT
// What data/guide knows, read once for all who ask at the same time, and anew when one of its files was changed.
#include "base/memory.h"
#include "base/text.h"
#include "guide/guide_read.h"
#include "procedure/job/job_guide.h"
#include "procedure/registry/data_table.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { FILES = 5 };

// Which file it was, and as of when.
typedef struct {
    dev_t disk;
    ino_t number;
    off_t size;
    struct timespec changed;
} Stamp;

typedef struct {
    DwGuideKnowledge knowledge; // first: whoever has the knowledge has the whole
    char *folder;
    Stamp stamps[FILES];
    unsigned users;
} Held;

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static Held *newest; // has one user more

static bool stamp_all(const char *folder, Stamp stamps[FILES])
{
    const DwGuideTable *const tables[FILES] = {&dw_guide_faults_table, &dw_guide_tests_table, &dw_guide_remedies_table,
                                               &dw_guide_symptoms_table, &dw_guide_findings_table};
    bool there = true;
    for (size_t i = 0; i < FILES; i++) {
        struct stat status = {0};
        char *path = dw_text_format("%s/%s", folder, tables[i]->file);
        there = stat(path, &status) == 0 && there;
        stamps[i] = (Stamp){status.st_dev, status.st_ino, status.st_size, status.st_mtim};
        free(path);
    }
    return there;
}

static bool is_same(const Stamp *a, const Stamp *b)
{
    return a->disk == b->disk && a->number == b->number && a->size == b->size &&
           a->changed.tv_sec == b->changed.tv_sec && a->changed.tv_nsec == b->changed.tv_nsec;
}

static bool is_of_now(const Held *held, const char *folder)
{
    Stamp stamps[FILES];
    bool same = strcmp(held->folder, folder) == 0 && stamp_all(folder, stamps);
    for (size_t i = 0; same && i < FILES; i++)
        same = is_same(&held->stamps[i], &stamps[i]);
    return same;
}

static void held_free(Held *held)
{
    dw_guide_knowledge_clear(&held->knowledge);
    free(held->folder);
    free(held);
}

// Under the lock.
static void let_go(Held *held)
{
    if (held && --held->users == 0)
        held_free(held);
}

static DwStatus read_files(const char *folder, DwGuideKnowledge *knowledge, DwMessage *message)
{
    DwGuideTroubles troubles = {0};
    DwStatus status = dw_guide_knowledge_read(folder, knowledge, &troubles, message);
    if (status == DW_OK && troubles.count)
        status = dw_fail(message, DW_BAD_INPUT, "%s/%s 'deckwright guide check' lists all that is wrong there.", folder,
                         troubles.lines[0]);
    dw_guide_troubles_clear(&troubles);
    return status;
}

// Reads the files for one user and for those to come. Under the lock.
static DwStatus renew(const char *folder, DwMessage *message)
{
    Held *held = dw_memory_new(1, sizeof *held);
    held->folder = dw_memory_text(folder);
    held->users = 1;
    stamp_all(folder, held->stamps); // before they are read: what changes meanwhile is read anew
    DwStatus status = read_files(folder, &held->knowledge, message);
    if (status != DW_OK) {
        held_free(held);
        return status;
    }
    let_go(newest);
    newest = held;
    return DW_OK;
}

DwStatus dw_job_guide_knowledge(const DwGuideKnowledge **knowledge, DwMessage *message)
{
    char *folder = dw_text_format("%s/guide", dw_data_folder());
    *knowledge = NULL;
    pthread_mutex_lock(&lock);
    DwStatus status = newest && is_of_now(newest, folder) ? DW_OK : renew(folder, message);
    if (status == DW_OK) {
        newest->users++;
        *knowledge = &newest->knowledge;
    }
    pthread_mutex_unlock(&lock);
    free(folder);
    return status;
}

void dw_job_guide_done(const DwGuideKnowledge *knowledge)
{
    pthread_mutex_lock(&lock);
    let_go((Held *)knowledge);
    pthread_mutex_unlock(&lock);
}
