// SPDX-License-Identifier: MIT
// Ends programs that work on a book at a placed act of theirs on the disk - the Nth writing, forcing,
// cutting, renaming, removing or making - and looks at what is left, as it stands and as a loss of power
// at that instant would leave it (disk.h).
//
//     placed-kills COUNT
//
// COUNT kills are spread evenly over all acts of the lives below; none twice. What a program was told is
// kept must be there each time, whole; the book must open, pass its check with every attachment read, and
// take another job; a finished backup must come back whole.
#include "book/care/backup.h"
#include "book/care/erase.h"
#include "disk.h"
#include "trial.h"

#include <signal.h>
#include <sys/stat.h>
#include <sys/wait.h>

enum { JOBS_MOST = 32 };

// What a life was told is kept, as it tells it through a pipe.
typedef struct {
    enum { JOB, BACKUP, SPARE_REMOVED, ERASED, RESTORED, ENDED } kind;
    int64_t number; // of the job; of the acts when it ended
} Told;

typedef struct {
    int64_t jobs[JOBS_MOST];
    size_t job_count;
    size_t backed_up; // of the jobs, in the last finished backup
    bool backup, removed, erased, restored;
    long acts;
} Kept;

typedef struct {
    char *shop, *stick;
    int pipe;
} Life;

static size_t told_total;

static void tell(const Life *life, int kind, int64_t number)
{
    Told told = {kind, number};
    if (write(life->pipe, &told, sizeof told) != sizeof told)
        _exit(9);
}

static void must(DwStatus status, const DwMessage *message)
{
    if (status == DW_OK)
        return;
    fprintf(stderr, "# a life failed: %s\n", message->text);
    _exit(3);
}

static DwBook *open_shop(const Life *life)
{
    DwMessage message = {""};
    DwBook *book = NULL;
    must(dw_book_open(life->shop, &book, &message), &message);
    return book;
}

static void add(const Life *life, DwBook *book)
{
    DwMessage message = {""};
    int64_t number = 0;
    must(trial_add_job(book, &number, &message), &message);
    tell(life, JOB, number);
}

static void back_up(const Life *life, DwBook *book)
{
    DwMessage message = {""};
    DwProblems problems;
    must(dw_backup_write(book, life->stick, &problems, &message), &message);
    tell(life, BACKUP, 0);
}

static void remove_spare(const Life *life, DwBook *book)
{
    static const char spare[] = "a picture that Quetzalina wants to be gone";
    DwMessage message = {""};
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    must(dw_attachment_add_bytes(book, &attachment, "spare.jpg", spare, sizeof spare, &message), &message);
    must(dw_attachment_remove(book, attachment.record.id, &message), &message);
    dw_record_clear(&attachment.record);
    tell(life, SPARE_REMOVED, 0);
}

static void erase_first(const Life *life, DwBook *book)
{
    DwMessage message = {""};
    DwErasure erasure;
    must(dw_job_move(book, 1, DW_JOB_HANDED_OVER, "", "", &message), &message);
    must(dw_erase_customer(book, 1, &erasure, &message), &message);
    tell(life, ERASED, 0);
}

static void restore(const Life *life)
{
    DwMessage message = {""};
    DwProblems problems;
    char *aside = NULL;
    must(dw_backup_restore(life->stick, life->shop, &aside, &(size_t){0}, &problems, &message), &message);
    free(aside);
    tell(life, RESTORED, 0);
}

// A book is made, worked with by two handles, backed up, checked, restored.
static void live_whole(const Life *life)
{
    DwBook *book = open_shop(life), *other = open_shop(life);
    add(life, book);
    add(life, other);
    back_up(life, book);
    dw_book_close(other);
    add(life, book);
    remove_spare(life, book);
    erase_first(life, book);
    DwCheckReport report;
    trial_expect_sound(book, 0, &report);
    dw_check_report_clear(&report);
    add(life, book);
    back_up(life, book);
    dw_book_close(book);
    restore(life);
    book = open_shop(life);
    add(life, book);
    dw_book_close(book);
}

// A book of the first version is brought forward.
static void live_forward(const Life *life)
{
    DwBook *book = open_shop(life);
    tell(life, JOB, 1);
    back_up(life, book);
    dw_book_close(book);
}

// The book of version 1 from its SQL text, with what its job needs for trial_expect_picture().
static void make_old(const Life *life)
{
    char *path = dw_text_format("%s/book.sqlite", life->shop),
         *attachments = dw_text_format("%s/attachments", life->shop);
    char line[4096], digest[65];
    DwText sql = {0};
    FILE *file = fopen(DW_FIXTURES "/version_1.sql", "r");
    while (file && fgets(line, sizeof line, file))
        dw_text_add(&sql, "%s", line);
    if (file)
        fclose(file);
    dw_file_make_folder(life->shop);
    dw_file_make_folder(attachments);
    char *picture = trial_picture(1), *whole = dw_text_format("%s/1.jpg", attachments);
    dw_file_write(attachments, "1.jpg", picture, trial_picture_size(1));
    dw_file_digest(whole, digest, NULL);
    dw_text_add(
        &sql,
        "INSERT INTO attachment (revision, job_id, kind, phase, position, caption, personal, original_name, file, "
        "bytes, digest, at, who) VALUES (1, 1, 'photo', 'none', 1, '', 0, 'x.jpg', '1.jpg', %zu, '%s', "
        "'2026-01-01T10:00:00Z', 'x');",
        trial_picture_size(1), digest);
    DwMessage message = {""};
    DwBook old = {0};
    must(dw_copy_begin(path, &message), &message);
    must(dw_book_connect(path, SQLITE_OPEN_READWRITE, &old.database, &message), &message);
    must(dw_query_run(&old, sql.chars, &message), &message);
    sqlite3_close(old.database);
    dw_file_settle(life->shop);
    dw_text_clear(&sql);
    free(picture);
    free(whole);
    free(path);
    free(attachments);
}

static const struct {
    void (*live)(const Life *life);
    void (*prepare)(const Life *life); // before the acts count, or NULL
} lives[] = {{live_whole, NULL}, {live_forward, make_old}};

enum { LIVES = sizeof lives / sizeof *lives };

static Kept hear(int pipe)
{
    Kept kept = {0};
    Told told;
    while (read(pipe, &told, sizeof told) == sizeof told) {
        told_total += told.kind != ENDED;
        if (told.kind == JOB && kept.job_count < JOBS_MOST)
            kept.jobs[kept.job_count++] = told.number;
        if (told.kind == BACKUP)
            kept.backed_up = kept.job_count;
        kept.backup = kept.backup || told.kind == BACKUP;
        kept.removed = kept.removed || told.kind == SPARE_REMOVED;
        kept.erased = kept.erased || told.kind == ERASED;
        kept.restored = kept.restored || told.kind == RESTORED;
        if (told.kind == ENDED)
            kept.acts = (long)told.number;
    }
    return kept;
}

// Runs life number WHICH on DISK until its act LAST (0: to its end). Returns what it was told.
static Kept run(size_t which, const char *disk, long last, bool *killed)
{
    int ends[2], result = 0;
    mkdir(disk, 0700);
    if (pipe(ends) != 0)
        trial_fail(0, "no pipe", "");
    fflush(stdout);
    pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        Life life = {dw_text_format("%s/shop", disk), dw_text_format("%s/stick", disk), ends[1]};
        disk_begin(disk, lives[which].prepare ? 0 : last);
        if (lives[which].prepare) {
            lives[which].prepare(&life);
            disk_begin_again(last);
        }
        lives[which].live(&life);
        tell(&life, ENDED, disk_acts());
        _exit(0);
    }
    close(ends[1]);
    Kept kept = hear(ends[0]);
    close(ends[0]);
    waitpid(child, &result, 0);
    *killed = WIFSIGNALED(result) && WTERMSIG(result) == SIGKILL;
    if (!*killed && result != 0)
        trial_fail((int)last, "a life ended by itself", "");
    return kept;
}

static void expect_jobs(DwBook *book, int number, const Kept *kept, size_t count)
{
    for (size_t i = 0; i < count; i++)
        trial_expect_picture(book, number, kept->jobs[i]);
}

static DwBook *open_again(int number, const char *folder)
{
    DwMessage message = {""};
    DwBook *book = NULL;
    if (dw_book_open(folder, &book, &message) != DW_OK)
        trial_fail(number, "the book does not open:", message.text);
    return book;
}

static void expect_sound(int number, DwBook *book)
{
    DwCheckReport report;
    trial_expect_sound(book, number, &report);
    dw_check_report_clear(&report);
}

static void expect_gone(int number, DwBook *book, const Kept *kept)
{
    int64_t found = 0;
    char *command = dw_text_format("grep -rqa 'that Quetzalina wants' '%s'", dw_book_folder(book));
    if (kept->removed && system(command) == 0)
        trial_fail(number, "a removed picture is on the disk:", command);
    free(command);
    dw_query_number(book, "SELECT count(*) FROM customer WHERE id = 1 AND erased_on IS NOT NULL", 0, &found, NULL);
    if (kept->erased && !found)
        trial_fail(number, "an erasure is lost", "");
}

// The book on DISK must hold all that was told, be sound and take another job; and so must its backup.
static void inspect(int number, const char *disk, const Kept *kept)
{
    char *shop = dw_text_format("%s/shop", disk), *stick = dw_text_format("%s/stick", disk);
    char *again = dw_text_format("%s/again", disk), *aside = NULL;
    int64_t added = 0;
    DwMessage message = {""};
    DwBook *book = open_again(number, shop);
    expect_jobs(book, number, kept, kept->job_count);
    expect_sound(number, book);
    expect_gone(number, book, kept);
    if (trial_add_job(book, &added, &message) != DW_OK)
        trial_fail(number, "the book takes no job:", message.text);
    dw_book_close(book);
    if (kept->backup) {
        DwProblems problems;
        if (dw_backup_restore(stick, again, &aside, &(size_t){0}, &problems, &message) != DW_OK)
            trial_fail(number, "the backup does not come back:", message.text);
        if (problems.count)
            trial_fail(number, "the backup is not whole:", problems.lines[0]);
        book = open_again(number, again);
        expect_jobs(book, number, kept, kept->backed_up);
        expect_sound(number, book);
        dw_book_close(book);
    }
    free(shop);
    free(stick);
    free(again);
    free(aside);
}

static void place(size_t which, const char *parent, int number, long last)
{
    char *disk = dw_text_format("%s/disk", parent), *dark = dw_text_format("%s/dark", parent);
    char *forced = dw_text_format("%s/disk-forced", parent);
    bool killed;
    Kept kept = run(which, disk, last, &killed);
    if (!killed)
        trial_fail(number, "the life was over before its act", "");
    disk_lose_power(disk, dark);
    inspect(number, disk, &kept);
    inspect(-number, dark, &kept); // a number below 0 is a loss of power
    trial_remove_tree(disk);
    trial_remove_tree(dark);
    trial_remove_tree(forced);
    free(disk);
    free(dark);
    free(forced);
}

static long count_acts(size_t which, const char *parent)
{
    char *disk = dw_text_format("%s/disk", parent), *forced = dw_text_format("%s/disk-forced", parent);
    bool killed;
    long acts = run(which, disk, 0, &killed).acts;
    trial_remove_tree(disk);
    trial_remove_tree(forced);
    free(disk);
    free(forced);
    return acts;
}

int main(int count, char **words)
{
    long trials = count > 1 ? atol(words[1]) : 0, acts[LIVES], total = 0;
    if (trials < 1) {
        fprintf(stderr, "placed-kills COUNT\n");
        return 2;
    }
    const char *folder = getenv("TMPDIR");
    char *parent = dw_text_format("%s/deckwright-placed-XXXXXX", folder && *folder ? folder : P_tmpdir);
    if (!mkdtemp(parent))
        return 1;
    for (size_t i = 0; i < LIVES; i++)
        total += acts[i] = count_acts(i, parent);
    trials = trials > total ? total : trials;
    told_total = 0;
    for (long i = 0; i < trials; i++) {
        long act = i * total / trials;
        size_t which = 0;
        while (act >= acts[which])
            act -= acts[which++];
        place(which, parent, (int)i + 1, act + 1);
    }
    printf("1..1\nok 1 - %ld kills at %ld of %ld acts, and as many losses of power: %zu things told to be kept, none "
           "lost\n",
           trials, trials, total, told_total);
    trial_remove_tree(parent);
    free(parent);
    return 0;
}
