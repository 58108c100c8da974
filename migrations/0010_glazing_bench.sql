CREATE TABLE "bisque_test_strikes" (
	"test_id" bigint PRIMARY KEY NOT NULL,
	"by" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"note_id" bigint NOT NULL
);
--> statement-breakpoint
CREATE TABLE "bisque_tests" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "bisque_tests_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"clay_id" bigint NOT NULL,
	"method" text NOT NULL,
	"load" integer,
	"specimens" jsonb NOT NULL,
	"absorption_percent" double precision NOT NULL,
	"spread_percent" double precision,
	"bulk_density" double precision,
	"at" timestamptz(3) NOT NULL,
	"by" bigint NOT NULL,
	"token_id" bigint,
	"note_id" bigint
);
--> statement-breakpoint
CREATE TABLE "coat_tile_strikes" (
	"tile_id" bigint PRIMARY KEY NOT NULL,
	"by" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"note_id" bigint NOT NULL
);
--> statement-breakpoint
CREATE TABLE "coat_tiles" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "coat_tiles_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"clay_id" bigint NOT NULL,
	"bucket_id" bigint NOT NULL,
	"seconds" double precision NOT NULL,
	"specific_gravity" double precision NOT NULL,
	"reading" integer,
	"solids_density" double precision NOT NULL,
	"area_cm2" double precision NOT NULL,
	"before_grams" double precision NOT NULL,
	"after_grams" double precision NOT NULL,
	"dry_grams" double precision,
	"dry_coat_grams" double precision NOT NULL,
	"happened_at" timestamptz(3) NOT NULL,
	"recorded_at" timestamptz(3) NOT NULL,
	"by" bigint NOT NULL,
	"token_id" bigint,
	"note_id" bigint,
	CONSTRAINT "coat_tiles_gain" CHECK ("coat_tiles"."after_grams" > "coat_tiles"."before_grams" and "coat_tiles"."dry_coat_grams" > 0)
);
--> statement-breakpoint
CREATE TABLE "glaze_runs" (
	"bucket_a" bigint NOT NULL,
	"bucket_b" bigint NOT NULL,
	"why" text NOT NULL,
	CONSTRAINT "glaze_runs_bucket_a_bucket_b_pk" PRIMARY KEY("bucket_a","bucket_b"),
	CONSTRAINT "glaze_runs_order" CHECK ("glaze_runs"."bucket_a" <= "glaze_runs"."bucket_b")
);
--> statement-breakpoint
ALTER TABLE "clays" ADD COLUMN "absorption_low" double precision;--> statement-breakpoint
ALTER TABLE "clays" ADD COLUMN "absorption_high" double precision;--> statement-breakpoint
ALTER TABLE "clays" ADD COLUMN "bisque_programme" text DEFAULT '' NOT NULL;--> statement-breakpoint
ALTER TABLE "glaze_traits" ADD COLUMN "wanted_coat_mm" double precision;--> statement-breakpoint
ALTER TABLE "glaze_traits" ADD COLUMN "dry_coat_density" double precision;--> statement-breakpoint
ALTER TABLE "piece_glazes" ADD COLUMN "face" text DEFAULT 'all' NOT NULL;--> statement-breakpoint
ALTER TABLE "piece_glazes" ADD COLUMN "way" text;--> statement-breakpoint
ALTER TABLE "piece_glazes" ADD COLUMN "seconds" double precision;--> statement-breakpoint
ALTER TABLE "piece_glazes" ADD COLUMN "coat_mm" double precision;--> statement-breakpoint
ALTER TABLE "piece_glazes" ADD COLUMN "coat_from" text;--> statement-breakpoint
ALTER TABLE "piece_glazes" ADD COLUMN "scratch_mm" double precision;--> statement-breakpoint
ALTER TABLE "bisque_test_strikes" ADD CONSTRAINT "bisque_test_strikes_test_id_bisque_tests_id_fk" FOREIGN KEY ("test_id") REFERENCES "public"."bisque_tests"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bisque_test_strikes" ADD CONSTRAINT "bisque_test_strikes_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bisque_test_strikes" ADD CONSTRAINT "bisque_test_strikes_note_id_piece_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."piece_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bisque_tests" ADD CONSTRAINT "bisque_tests_clay_id_clays_id_fk" FOREIGN KEY ("clay_id") REFERENCES "public"."clays"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bisque_tests" ADD CONSTRAINT "bisque_tests_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bisque_tests" ADD CONSTRAINT "bisque_tests_token_id_tokens_id_fk" FOREIGN KEY ("token_id") REFERENCES "public"."tokens"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bisque_tests" ADD CONSTRAINT "bisque_tests_note_id_piece_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."piece_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "coat_tile_strikes" ADD CONSTRAINT "coat_tile_strikes_tile_id_coat_tiles_id_fk" FOREIGN KEY ("tile_id") REFERENCES "public"."coat_tiles"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "coat_tile_strikes" ADD CONSTRAINT "coat_tile_strikes_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "coat_tile_strikes" ADD CONSTRAINT "coat_tile_strikes_note_id_piece_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."piece_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "coat_tiles" ADD CONSTRAINT "coat_tiles_clay_id_clays_id_fk" FOREIGN KEY ("clay_id") REFERENCES "public"."clays"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "coat_tiles" ADD CONSTRAINT "coat_tiles_bucket_id_buckets_id_fk" FOREIGN KEY ("bucket_id") REFERENCES "public"."buckets"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "coat_tiles" ADD CONSTRAINT "coat_tiles_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "coat_tiles" ADD CONSTRAINT "coat_tiles_token_id_tokens_id_fk" FOREIGN KEY ("token_id") REFERENCES "public"."tokens"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "coat_tiles" ADD CONSTRAINT "coat_tiles_note_id_piece_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."piece_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "glaze_runs" ADD CONSTRAINT "glaze_runs_bucket_a_buckets_id_fk" FOREIGN KEY ("bucket_a") REFERENCES "public"."buckets"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "glaze_runs" ADD CONSTRAINT "glaze_runs_bucket_b_buckets_id_fk" FOREIGN KEY ("bucket_b") REFERENCES "public"."buckets"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "bisque_tests_clay" ON "bisque_tests" USING btree ("clay_id","id");--> statement-breakpoint
CREATE INDEX "bisque_tests_load" ON "bisque_tests" USING btree ("load");--> statement-breakpoint
CREATE INDEX "coat_tiles_pair" ON "coat_tiles" USING btree ("clay_id","bucket_id","id");--> statement-breakpoint
CREATE TRIGGER bisque_tests_append_only BEFORE UPDATE OR DELETE ON "bisque_tests" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER bisque_tests_not_emptied BEFORE TRUNCATE ON "bisque_tests" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();--> statement-breakpoint
CREATE TRIGGER bisque_test_strikes_append_only BEFORE UPDATE OR DELETE ON "bisque_test_strikes" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER bisque_test_strikes_not_emptied BEFORE TRUNCATE ON "bisque_test_strikes" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();--> statement-breakpoint
CREATE TRIGGER coat_tiles_append_only BEFORE UPDATE OR DELETE ON "coat_tiles" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER coat_tiles_not_emptied BEFORE TRUNCATE ON "coat_tiles" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();--> statement-breakpoint
CREATE TRIGGER coat_tile_strikes_append_only BEFORE UPDATE OR DELETE ON "coat_tile_strikes" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER coat_tile_strikes_not_emptied BEFORE TRUNCATE ON "coat_tile_strikes" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
