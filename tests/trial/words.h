/*
 * Pictures of set-ups beside what the program says of them, for docs/setup.md.
 */
#ifndef TRIAL_WORDS_H
#define TRIAL_WORDS_H

/* trial words FOLDER PROGRAM */
int words_main (int argc, char **argv);

#endif
