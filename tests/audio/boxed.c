// SPDX-License-Identifier: MIT
// Whatever comes from outside is decoded in a process that is shut in; one that breaks down half way costs one line.
#include "audio/film.h"
#include "audio/source.h"
#include "support.h"
#include "support/suite.h"

#include <dirent.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { FRAMES = 2000000, BLOCK = 4096 };

// Whether the process PID is the decoder, started by this one, shut in by seccomp (mode 2).
static bool is_shut_in(const char *pid)
{
    char path[300], line[200], name[100] = "";
    int parent = 0, seccomp = 0;
    snprintf(path, sizeof path, "/proc/%s/status", pid);
    FILE *status = fopen(path, "re");
    while (status && fgets(line, sizeof line, status)) {
        sscanf(line, "Name: %99s", name);
        sscanf(line, "PPid: %d", &parent);
        sscanf(line, "Seccomp: %d", &seccomp);
    }
    if (status)
        fclose(status);
    return parent == getpid() && strncmp(name, "deckwright-deco", 15) == 0 && seccomp == 2;
}

// The decoder that works for this process; 0 for none.
static pid_t decoder(void)
{
    pid_t found = 0;
    DIR *all = opendir("/proc");
    ck_assert_ptr_nonnull(all);
    for (const struct dirent *entry = readdir(all); entry && !found; entry = readdir(all))
        if (atoi(entry->d_name) > 0 && is_shut_in(entry->d_name))
            found = atoi(entry->d_name);
    closedir(all);
    return found;
}

static const char *long_wav(void)
{
    TestBytes file = {0};
    const char *path = test_path("long.wav");
    test_put(&file, "RIFF", 4);
    test_put_number(&file, 36 + 4 * FRAMES, 4);
    test_put(&file, "WAVEfmt ", 8);
    test_put_number(&file, 16, 4);
    test_put_number(&file, 1, 2);
    test_put_number(&file, 2, 2);
    test_put_number(&file, 48000, 4);
    test_put_number(&file, 4 * 48000, 4);
    test_put_number(&file, 4, 2);
    test_put_number(&file, 16, 2);
    test_put(&file, "data", 4);
    test_put_number(&file, 4 * FRAMES, 4);
    for (unsigned i = 0; i < FRAMES; i++)
        test_put_number(&file, i * 2654435761u, 4);
    test_write(path, file.bytes, file.count);
    free(file.bytes);
    return path;
}

START_TEST(a_recording_is_read_in_a_box_whose_end_is_told)
{
    static float samples[BLOCK * 2];
    size_t got, whole = 0;
    DwMessage message = {""};
    DwSource *source = test_open(long_wav());
    ck_assert_int_eq(dw_source_read(source, samples, BLOCK, &got, NULL, &message), DW_OK);
    pid_t process = decoder();
    ck_assert_int_gt(process, 0);
    ck_assert_int_eq(kill(process, SIGSEGV), 0);
    while (got) {
        whole += got;
        ck_assert_int_eq(dw_source_read(source, samples, BLOCK, &got, NULL, &message), DW_OK);
    }
    ck_assert_uint_lt(whole, FRAMES);
    const char *remark = test_remark(source);
    ck_assert_msg(strstr(remark, "Reading stopped after") && strstr(remark, "the decoder broke down on it"), "%s",
                  remark);
    dw_source_close(source);
}
END_TEST

static bool shoot(const DwFilmPicture *picture, void *user)
{
    unsigned *seen = user;
    ck_assert(picture->width == 1920 && picture->height == 1080 && picture->pixels);
    pid_t process = ++*seen == 2 ? decoder() : 0;
    if (process)
        kill(process, SIGSEGV);
    ck_assert(*seen != 2 || process);
    return true;
}

START_TEST(a_film_is_read_in_a_box_whose_end_is_told)
{
    if (!test_has_element("jpegenc") || !test_has_element("matroskamux"))
        TEST_PASS_OVER("GStreamer's jpegenc or matroskamux is not installed");
    const char *path = test_path("film.mkv");
    unsigned seen = 0;
    DwFilmEnd end;
    DwMessage message = {""};
    test_run_pipeline("videotestsrc num-buffers=60 ! video/x-raw,width=1920,height=1080,framerate=30/1 ! jpegenc ! "
                      "matroskamux ! filesink location=%s",
                      path);
    DwStatus status = dw_film_play(path, shoot, &seen, &end, &message);
    ck_assert_msg(status == DW_OK, "%s", message.text);
    ck_assert(end.stopped && end.frames >= 2 && end.frames < 60);
    ck_assert_str_eq(end.why, "the decoder broke down on it");
}
END_TEST

DW_SUITE("boxed", a_recording_is_read_in_a_box_whose_end_is_told, a_film_is_read_in_a_box_whose_end_is_told)
