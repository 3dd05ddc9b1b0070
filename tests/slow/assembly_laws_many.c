/* The laws of tests/unit/assembly_laws.c on more drafts. */
#define LAWS_SEEDS 15
#define LAWS_SUITE suite_assembly_laws_many
#define LAWS_NAME "assembly_laws_many"
#include "../unit/assembly_laws.c"
