// SPDX-License-Identifier: MIT
#include "base/box.h"

#include "base/memory.h"
#include "base/place.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

// A box that says nothing for so long has hung; it ends itself long before by its own limits.
enum { PATIENCE_MS = 180000, FIRST_OTHER_FILE = 3, PIPE_BYTES = 1 << 20 };

struct DwStrongBox {
    pid_t process;
    int answers;
    bool ended;
    bool silent;
    char trouble[160];
};

// Where a program of the box may lie, from the folder of the one that runs: beside it, as it was installed, as it was
// built.
static char *find_program(const char *name)
{
    static const char *const folders[] = {"", "../libexec/deckwright/", "../../src/audio/", "../../src/report/"};
    for (size_t i = 0; i < sizeof folders / sizeof *folders; i++) {
        char place[200];
        snprintf(place, sizeof place, "%s%s", folders[i], name);
        char *path = dw_place_beside(place);
        if (access(path, X_OK) == 0)
            return path;
        free(path);
    }
    return NULL;
}

static int start(const char *path, const char *const *arguments, int answers, pid_t *process)
{
    extern char **environ;
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attributes;
    sigset_t none;
    sigemptyset(&none);
    posix_spawn_file_actions_init(&actions);
    posix_spawnattr_init(&attributes);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK);
    int error = posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    if (!error)
        error = posix_spawn_file_actions_adddup2(&actions, answers, STDOUT_FILENO);
    // Nothing that the program has open is open in the box.
    if (!error)
        error = posix_spawn_file_actions_addclosefrom_np(&actions, FIRST_OTHER_FILE);
    if (!error)
        error = posix_spawn(process, path, &actions, &attributes, (char *const *)arguments, environ);
    posix_spawnattr_destroy(&attributes);
    posix_spawn_file_actions_destroy(&actions);
    return error;
}

DwStatus dw_box_open(const char *name, const char *const *arguments, DwStrongBox **box, DwMessage *message)
{
    char *path = find_program(name);
    if (!path)
        return dw_fail(message, DW_FAILED, "%s is not there, which reads such files; install Deckwright again", name);
    int ends[2] = {-1, -1};
    pid_t process = 0;
    int error = pipe2(ends, O_CLOEXEC) == 0 ? start(path, arguments, ends[1], &process) : errno;
    free(path);
    if (ends[1] >= 0)
        close(ends[1]);
    if (error) {
        if (ends[0] >= 0)
            close(ends[0]);
        return dw_fail(message, DW_FAILED, "%s could not be started (%s)", name, strerror(error));
    }
    *box = dw_memory_new(1, sizeof **box);
    (*box)->process = process;
    (*box)->answers = ends[0];
    (void)fcntl(ends[0], F_SETPIPE_SZ, PIPE_BYTES); // fewer stops on the way; the system may grant less
    return DW_OK;
}

static bool wait_for_answer(DwStrongBox *box)
{
    struct pollfd ready = {.fd = box->answers, .events = POLLIN};
    int got;
    do
        got = poll(&ready, 1, PATIENCE_MS);
    while (got < 0 && errno == EINTR);
    box->silent = got == 0;
    return got > 0;
}

bool dw_box_read(DwStrongBox *box, void *bytes, size_t count)
{
    size_t got = 0;
    while (got < count && wait_for_answer(box)) {
        ssize_t more = read(box->answers, (char *)bytes + got, count - got);
        if (more > 0)
            got += (size_t)more;
        else if (more == 0 || errno != EINTR)
            break;
    }
    return got == count;
}

static void end(DwStrongBox *box, int *how)
{
    if (box->silent)
        kill(box->process, SIGKILL);
    while (waitpid(box->process, how, 0) < 0 && errno == EINTR)
        ;
    box->ended = true;
}

const char *dw_box_trouble(DwStrongBox *box)
{
    int how = 0;
    if (box->ended)
        return box->trouble;
    bool silent = box->silent;
    end(box, &how);
    int by = WIFSIGNALED(how) ? WTERMSIG(how) : 0;
    if (silent)
        snprintf(box->trouble, sizeof box->trouble, "the decoder hung on it");
    else if (by == SIGXCPU || by == SIGKILL)
        snprintf(box->trouble, sizeof box->trouble, "the decoder needed more time or memory for it than it is given");
    else if (by == SIGSYS)
        snprintf(box->trouble, sizeof box->trouble, "the decoder tried what it may not do");
    else if (by)
        snprintf(box->trouble, sizeof box->trouble, "the decoder broke down on it");
    else
        snprintf(box->trouble, sizeof box->trouble, "the decoder gave up on it");
    return box->trouble;
}

void dw_box_close(DwStrongBox *box)
{
    if (!box)
        return;
    int how;
    close(box->answers);
    if (!box->ended) {
        box->silent = true; // whatever it still does, nobody waits for it
        end(box, &how);
    }
    free(box);
}
