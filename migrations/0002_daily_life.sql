CREATE TABLE "batch_lines" (
	"batch_id" bigint NOT NULL,
	"position" integer NOT NULL,
	"material_id" bigint NOT NULL,
	"grams" double precision NOT NULL,
	"lot" text DEFAULT '' NOT NULL,
	"weighed_by" bigint,
	"weighed_at" timestamptz(3),
	CONSTRAINT "batch_lines_batch_id_position_pk" PRIMARY KEY("batch_id","position")
);
--> statement-breakpoint
CREATE TABLE "batches" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "batches_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"number" integer NOT NULL,
	"recipe_id" bigint NOT NULL,
	"recipe_version" integer NOT NULL,
	"litres" double precision NOT NULL,
	"aim_sg" double precision NOT NULL,
	"dry_kg" double precision NOT NULL,
	"water_l" double precision NOT NULL,
	"held_back_l" double precision NOT NULL,
	"for_bucket_id" bigint,
	"made_by" bigint NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	"checked_by" bigint,
	"checked_at" timestamptz(3),
	"used_at" timestamptz(3),
	"abandoned_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "fired_tiles" (
	"bucket_id" bigint NOT NULL,
	"number" integer NOT NULL,
	"file_id" bigint,
	"clay" text NOT NULL,
	"cone" text NOT NULL,
	"over_bucket_id" bigint,
	"note_id" bigint,
	"accepted" boolean,
	"batch" integer,
	"made_by" bigint NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	"withdrawn_at" timestamptz(3),
	CONSTRAINT "fired_tiles_bucket_id_number_pk" PRIMARY KEY("bucket_id","number")
);
--> statement-breakpoint
CREATE TABLE "float_calibrations" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "float_calibrations_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"float_id" bigint NOT NULL,
	"points" jsonb NOT NULL,
	"intercept" double precision NOT NULL,
	"slope_per_mm" double precision NOT NULL,
	"residual" double precision,
	"made_by" bigint NOT NULL,
	"made_at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "floats" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "floats_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"code" text NOT NULL,
	"name" text NOT NULL,
	"retired_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "instruments" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "instruments_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"kind" text NOT NULL,
	"code" text NOT NULL,
	"name" text NOT NULL,
	"resolution_g" double precision,
	"scale" text,
	"division" double precision,
	"retired_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "devices" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "devices_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"name" text NOT NULL,
	"hash" text NOT NULL,
	"paired_by" bigint NOT NULL,
	"paired_at" timestamptz(3) NOT NULL,
	"revoked_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "files" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "files_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"sha256" text NOT NULL,
	"type" text NOT NULL,
	"bytes" "bytea" NOT NULL,
	"made_by" bigint NOT NULL,
	"made_at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
ALTER TABLE "bucket_events" ADD COLUMN "device_id" bigint;--> statement-breakpoint
ALTER TABLE "bucket_state" ADD COLUMN "flow_seconds" double precision;--> statement-breakpoint
ALTER TABLE "bucket_state" ADD COLUMN "flow_word" text;--> statement-breakpoint
ALTER TABLE "bucket_state" ADD COLUMN "flow_at" timestamptz(3);--> statement-breakpoint
ALTER TABLE "bucket_state" ADD COLUMN "batch" integer;--> statement-breakpoint
ALTER TABLE "buckets" ADD COLUMN "flow_low_s" double precision;--> statement-breakpoint
ALTER TABLE "buckets" ADD COLUMN "flow_high_s" double precision;--> statement-breakpoint
ALTER TABLE "buckets" ADD COLUMN "is_reclaim" boolean DEFAULT false NOT NULL;--> statement-breakpoint
ALTER TABLE "people" ADD COLUMN "pin_hash" text;--> statement-breakpoint
ALTER TABLE "people" ADD COLUMN "card_hash" text;--> statement-breakpoint
ALTER TABLE "batch_lines" ADD CONSTRAINT "batch_lines_batch_id_batches_id_fk" FOREIGN KEY ("batch_id") REFERENCES "public"."batches"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "batch_lines" ADD CONSTRAINT "batch_lines_material_id_materials_id_fk" FOREIGN KEY ("material_id") REFERENCES "public"."materials"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "batch_lines" ADD CONSTRAINT "batch_lines_weighed_by_people_id_fk" FOREIGN KEY ("weighed_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "batches" ADD CONSTRAINT "batches_for_bucket_id_buckets_id_fk" FOREIGN KEY ("for_bucket_id") REFERENCES "public"."buckets"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "batches" ADD CONSTRAINT "batches_made_by_people_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "batches" ADD CONSTRAINT "batches_checked_by_people_id_fk" FOREIGN KEY ("checked_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "batches" ADD CONSTRAINT "batches_recipe" FOREIGN KEY ("recipe_id","recipe_version") REFERENCES "public"."recipe_versions"("recipe_id","version") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fired_tiles" ADD CONSTRAINT "fired_tiles_bucket_id_buckets_id_fk" FOREIGN KEY ("bucket_id") REFERENCES "public"."buckets"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fired_tiles" ADD CONSTRAINT "fired_tiles_file_id_files_id_fk" FOREIGN KEY ("file_id") REFERENCES "public"."files"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fired_tiles" ADD CONSTRAINT "fired_tiles_over_bucket_id_buckets_id_fk" FOREIGN KEY ("over_bucket_id") REFERENCES "public"."buckets"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fired_tiles" ADD CONSTRAINT "fired_tiles_note_id_bucket_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."bucket_notes"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fired_tiles" ADD CONSTRAINT "fired_tiles_made_by_people_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "float_calibrations" ADD CONSTRAINT "float_calibrations_float_id_floats_id_fk" FOREIGN KEY ("float_id") REFERENCES "public"."floats"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "float_calibrations" ADD CONSTRAINT "float_calibrations_made_by_people_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "devices" ADD CONSTRAINT "devices_paired_by_people_id_fk" FOREIGN KEY ("paired_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "files" ADD CONSTRAINT "files_made_by_people_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE UNIQUE INDEX "batches_number" ON "batches" USING btree ("number");--> statement-breakpoint
CREATE INDEX "float_calibrations_float" ON "float_calibrations" USING btree ("float_id","made_at");--> statement-breakpoint
CREATE UNIQUE INDEX "floats_code" ON "floats" USING btree (lower("code"));--> statement-breakpoint
CREATE UNIQUE INDEX "instruments_code" ON "instruments" USING btree (lower("code"));--> statement-breakpoint
CREATE UNIQUE INDEX "devices_hash" ON "devices" USING btree ("hash");--> statement-breakpoint
CREATE UNIQUE INDEX "files_sha256" ON "files" USING btree ("sha256");--> statement-breakpoint
ALTER TABLE "bucket_events" ADD CONSTRAINT "bucket_events_device_id_devices_id_fk" FOREIGN KEY ("device_id") REFERENCES "public"."devices"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "bucket_events_by_time" ON "bucket_events" USING btree ("happened_at","bucket_id","number");--> statement-breakpoint
CREATE UNIQUE INDEX "people_card" ON "people" USING btree ("card_hash");--> statement-breakpoint
ALTER TABLE "files" ALTER COLUMN "bytes" SET STORAGE EXTERNAL;
