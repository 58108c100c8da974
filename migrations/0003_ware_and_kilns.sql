CREATE TABLE "messages" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "messages_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"person_id" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"kind" text NOT NULL,
	"words" text NOT NULL,
	"href" text NOT NULL,
	"read_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "calendar_feeds" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "calendar_feeds_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"person_id" bigint NOT NULL,
	"hash" text NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	"revoked_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "firing_logs" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "firing_logs_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"load_id" bigint NOT NULL,
	"source" text NOT NULL,
	"starts_at" timestamptz(3) NOT NULL,
	"points" jsonb NOT NULL,
	"point_count" integer NOT NULL,
	"findings" jsonb NOT NULL,
	"made_by" bigint NOT NULL,
	"made_at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "kiln_care" (
	"kiln_id" bigint NOT NULL,
	"number" integer NOT NULL,
	"kind" text NOT NULL,
	"happened_at" timestamptz(3) NOT NULL,
	"recorded_at" timestamptz(3) NOT NULL,
	"by" bigint NOT NULL,
	"voids" integer,
	"note_id" bigint,
	"v" smallint NOT NULL,
	"payload" jsonb NOT NULL,
	CONSTRAINT "kiln_care_kiln_id_number_pk" PRIMARY KEY("kiln_id","number")
);
--> statement-breakpoint
CREATE TABLE "kiln_firers" (
	"kiln_id" bigint NOT NULL,
	"person_id" bigint NOT NULL,
	"inducted_at" timestamptz(3) NOT NULL,
	"inducted_by" bigint NOT NULL,
	"ended_at" timestamptz(3),
	CONSTRAINT "kiln_firers_kiln_id_person_id_pk" PRIMARY KEY("kiln_id","person_id")
);
--> statement-breakpoint
CREATE TABLE "kiln_settings" (
	"id" smallint PRIMARY KEY DEFAULT 1 NOT NULL,
	"value" jsonb NOT NULL,
	CONSTRAINT "kiln_settings_is_one" CHECK ("kiln_settings"."id" = 1)
);
--> statement-breakpoint
CREATE TABLE "kilns" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "kilns_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"code" text NOT NULL,
	"name" text NOT NULL,
	"opens" text NOT NULL,
	"shelf" jsonb NOT NULL,
	"full_shelves" integer NOT NULL,
	"half_shelves" integer NOT NULL,
	"shelf_thickness_mm" double precision NOT NULL,
	"usable_height_mm" double precision NOT NULL,
	"floor_post_mm" double precision NOT NULL,
	"edge_gap_mm" double precision NOT NULL,
	"split_gap_mm" double precision NOT NULL,
	"clearance_mm" double precision NOT NULL,
	"top_clearance_mm" double precision NOT NULL,
	"keep_outs" jsonb NOT NULL,
	"post_positions" jsonb NOT NULL,
	"posts" jsonb NOT NULL,
	"posts_per_shelf" integer NOT NULL,
	"stacked_posts" boolean NOT NULL,
	"tall_level" text NOT NULL,
	"max_cone" text NOT NULL,
	"atmospheres" text[] NOT NULL,
	"power" text NOT NULL,
	"kilowatts" double precision,
	"volts" double precision,
	"duty" double precision,
	"controls" text NOT NULL,
	"emergency" text NOT NULL,
	"service" text NOT NULL,
	"service_cause" text NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	"retired_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "load_events" (
	"load_id" bigint NOT NULL,
	"number" integer NOT NULL,
	"kind" text NOT NULL,
	"happened_at" timestamptz(3) NOT NULL,
	"recorded_at" timestamptz(3) NOT NULL,
	"by" bigint NOT NULL,
	"token_id" bigint,
	"state" text,
	"voids" integer,
	"file_id" bigint,
	"note_id" bigint,
	"v" smallint NOT NULL,
	"payload" jsonb NOT NULL,
	CONSTRAINT "load_events_load_id_number_pk" PRIMARY KEY("load_id","number")
);
--> statement-breakpoint
CREATE TABLE "load_pieces" (
	"load_id" bigint NOT NULL,
	"piece_id" bigint NOT NULL,
	"part" text NOT NULL,
	"level" integer NOT NULL,
	"reserves" boolean NOT NULL,
	"is_in" boolean,
	CONSTRAINT "load_pieces_load_id_piece_id_pk" PRIMARY KEY("load_id","piece_id")
);
--> statement-breakpoint
CREATE TABLE "loads" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "loads_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"number" integer NOT NULL,
	"last_event" integer NOT NULL,
	"kiln_id" bigint NOT NULL,
	"state" text NOT NULL,
	"kind" text NOT NULL,
	"cone" text NOT NULL,
	"atmosphere" text NOT NULL,
	"schedule_id" bigint,
	"problem" jsonb NOT NULL,
	"plan" jsonb NOT NULL,
	"bound" jsonb NOT NULL,
	"wishes" jsonb NOT NULL,
	"starts_at" timestamptz(3),
	"free_at" timestamptz(3),
	"proposed_at" timestamptz(3) NOT NULL,
	"approved_at" timestamptz(3),
	"approved_by" bigint,
	"loaded_at" timestamptz(3),
	"started_at" timestamptz(3),
	"started_by" bigint,
	"on_call" text NOT NULL,
	"shut_off_at" timestamptz(3),
	"opened_at" timestamptz(3),
	"unloaded_at" timestamptz(3),
	"cancelled_at" timestamptz(3),
	"measured_c" double precision,
	"measured_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "schedules" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "schedules_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"number" integer NOT NULL,
	"name" text NOT NULL,
	"kind" text NOT NULL,
	"cone" text NOT NULL,
	"for_thick" boolean NOT NULL,
	"segments" jsonb NOT NULL,
	"made_by" bigint NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	"retired_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "clays" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "clays_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"name" text NOT NULL,
	"max_cone" text NOT NULL,
	"bisque_cone" text NOT NULL,
	"dry_shrink_percent" double precision NOT NULL,
	"fired_shrink_percent" double precision NOT NULL,
	"note" text NOT NULL,
	"retired_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "glaze_conflicts" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "glaze_conflicts_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"tag_a" text NOT NULL,
	"tag_b" text NOT NULL,
	"why" text NOT NULL
);
--> statement-breakpoint
CREATE TABLE "glaze_traits" (
	"bucket_id" bigint PRIMARY KEY NOT NULL,
	"is_runny" boolean NOT NULL,
	"tray_mm" double precision NOT NULL,
	"tags" text[] NOT NULL
);
--> statement-breakpoint
CREATE TABLE "group_people" (
	"group_id" bigint NOT NULL,
	"person_id" bigint NOT NULL,
	CONSTRAINT "group_people_group_id_person_id_pk" PRIMARY KEY("group_id","person_id")
);
--> statement-breakpoint
CREATE TABLE "groups" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "groups_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"kind" text NOT NULL,
	"name" text NOT NULL,
	"contact_id" bigint NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	"retired_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "marks" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "marks_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"person_id" bigint NOT NULL,
	"text" text NOT NULL,
	"file_id" bigint,
	"made_at" timestamptz(3) NOT NULL,
	"retired_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "piece_events" (
	"piece_id" bigint NOT NULL,
	"number" integer NOT NULL,
	"kind" text NOT NULL,
	"happened_at" timestamptz(3) NOT NULL,
	"recorded_at" timestamptz(3) NOT NULL,
	"by" bigint NOT NULL,
	"token_id" bigint,
	"stage" text,
	"load" integer,
	"file_id" bigint,
	"note_id" bigint,
	"v" smallint NOT NULL,
	"payload" jsonb NOT NULL,
	CONSTRAINT "piece_events_piece_id_number_pk" PRIMARY KEY("piece_id","number")
);
--> statement-breakpoint
CREATE TABLE "piece_glazes" (
	"piece_id" bigint NOT NULL,
	"position" integer NOT NULL,
	"bucket_id" bigint,
	"own_name" text,
	"own_cone_from" text,
	"own_cone_to" text,
	"gravity" double precision,
	"reading" integer,
	"batch_number" integer,
	"at" timestamptz(3) NOT NULL,
	"load" integer,
	"ended_at" timestamptz(3),
	CONSTRAINT "piece_glazes_piece_id_position_pk" PRIMARY KEY("piece_id","position"),
	CONSTRAINT "piece_glazes_one" CHECK (num_nonnulls("piece_glazes"."bucket_id", "piece_glazes"."own_name") = 1)
);
--> statement-breakpoint
CREATE TABLE "piece_notes" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "piece_notes_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"text" text NOT NULL
);
--> statement-breakpoint
CREATE TABLE "piece_outcomes" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "piece_outcomes_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"piece_id" bigint NOT NULL,
	"load" integer NOT NULL,
	"outcome" text NOT NULL,
	"level" integer,
	"file_id" bigint,
	"note_id" bigint,
	"by" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "pieces" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "pieces_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"number" integer NOT NULL,
	"batch" integer NOT NULL,
	"last_event" integer NOT NULL,
	"stage" text NOT NULL,
	"stage_since" timestamptz(3) NOT NULL,
	"load" integer,
	"waiting_since" timestamptz(3),
	"form" text NOT NULL,
	"footprint" text NOT NULL,
	"width_mm" double precision NOT NULL,
	"depth_mm" double precision NOT NULL,
	"height_mm" double precision NOT NULL,
	"measured" text NOT NULL,
	"measured_by_technician" boolean NOT NULL,
	"kg" double precision,
	"thickest_mm" double precision NOT NULL,
	"is_closed" boolean NOT NULL,
	"has_hole" boolean NOT NULL,
	"stack" text NOT NULL,
	"clay_id" bigint,
	"own_clay" text,
	"kind" text NOT NULL,
	"cone" text NOT NULL,
	"atmosphere" text NOT NULL,
	"wanted_by" date,
	"mark" text NOT NULL,
	"place" text NOT NULL,
	"file_id" bigint,
	"note_id" bigint,
	"registered_by" bigint NOT NULL,
	"registered_at" timestamptz(3) NOT NULL,
	"owner_id" bigint,
	"owner_group_id" bigint,
	"payer_id" bigint,
	"payer_group_id" bigint,
	"dry_at" timestamptz(3),
	"dry_by" bigint,
	"foot_at" timestamptz(3),
	"yes_at" timestamptz(3),
	"yes_by" bigint,
	"tray_mm" double precision NOT NULL,
	"flag" text,
	CONSTRAINT "pieces_one_owner" CHECK (num_nonnulls("pieces"."owner_id", "pieces"."owner_group_id") <= 1),
	CONSTRAINT "pieces_one_payer" CHECK (num_nonnulls("pieces"."payer_id", "pieces"."payer_group_id") <= 1),
	CONSTRAINT "pieces_in_load" CHECK (("pieces"."stage" = 'in-load') = ("pieces"."load" is not null)),
	CONSTRAINT "pieces_size" CHECK ("pieces"."width_mm" > 0 and "pieces"."depth_mm" > 0 and "pieces"."height_mm" > 0)
);
--> statement-breakpoint
CREATE TABLE "ware_settings" (
	"id" smallint PRIMARY KEY DEFAULT 1 NOT NULL,
	"value" jsonb NOT NULL,
	CONSTRAINT "ware_settings_is_one" CHECK ("ware_settings"."id" = 1)
);
--> statement-breakpoint
ALTER TABLE "messages" ADD CONSTRAINT "messages_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "calendar_feeds" ADD CONSTRAINT "calendar_feeds_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "firing_logs" ADD CONSTRAINT "firing_logs_load_id_loads_id_fk" FOREIGN KEY ("load_id") REFERENCES "public"."loads"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "firing_logs" ADD CONSTRAINT "firing_logs_made_by_people_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "kiln_care" ADD CONSTRAINT "kiln_care_kiln_id_kilns_id_fk" FOREIGN KEY ("kiln_id") REFERENCES "public"."kilns"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "kiln_care" ADD CONSTRAINT "kiln_care_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "kiln_care" ADD CONSTRAINT "kiln_care_note_id_piece_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."piece_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "kiln_firers" ADD CONSTRAINT "kiln_firers_kiln_id_kilns_id_fk" FOREIGN KEY ("kiln_id") REFERENCES "public"."kilns"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "kiln_firers" ADD CONSTRAINT "kiln_firers_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "kiln_firers" ADD CONSTRAINT "kiln_firers_inducted_by_people_id_fk" FOREIGN KEY ("inducted_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "load_events" ADD CONSTRAINT "load_events_load_id_loads_id_fk" FOREIGN KEY ("load_id") REFERENCES "public"."loads"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "load_events" ADD CONSTRAINT "load_events_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "load_events" ADD CONSTRAINT "load_events_token_id_tokens_id_fk" FOREIGN KEY ("token_id") REFERENCES "public"."tokens"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "load_events" ADD CONSTRAINT "load_events_file_id_files_id_fk" FOREIGN KEY ("file_id") REFERENCES "public"."files"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "load_events" ADD CONSTRAINT "load_events_note_id_piece_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."piece_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "load_pieces" ADD CONSTRAINT "load_pieces_load_id_loads_id_fk" FOREIGN KEY ("load_id") REFERENCES "public"."loads"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "load_pieces" ADD CONSTRAINT "load_pieces_piece_id_pieces_id_fk" FOREIGN KEY ("piece_id") REFERENCES "public"."pieces"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "loads" ADD CONSTRAINT "loads_kiln_id_kilns_id_fk" FOREIGN KEY ("kiln_id") REFERENCES "public"."kilns"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "loads" ADD CONSTRAINT "loads_schedule_id_schedules_id_fk" FOREIGN KEY ("schedule_id") REFERENCES "public"."schedules"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "loads" ADD CONSTRAINT "loads_approved_by_people_id_fk" FOREIGN KEY ("approved_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "loads" ADD CONSTRAINT "loads_started_by_people_id_fk" FOREIGN KEY ("started_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "schedules" ADD CONSTRAINT "schedules_made_by_people_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "glaze_traits" ADD CONSTRAINT "glaze_traits_bucket_id_buckets_id_fk" FOREIGN KEY ("bucket_id") REFERENCES "public"."buckets"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "group_people" ADD CONSTRAINT "group_people_group_id_groups_id_fk" FOREIGN KEY ("group_id") REFERENCES "public"."groups"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "group_people" ADD CONSTRAINT "group_people_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "groups" ADD CONSTRAINT "groups_contact_id_people_id_fk" FOREIGN KEY ("contact_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "marks" ADD CONSTRAINT "marks_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "marks" ADD CONSTRAINT "marks_file_id_files_id_fk" FOREIGN KEY ("file_id") REFERENCES "public"."files"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "piece_events" ADD CONSTRAINT "piece_events_piece_id_pieces_id_fk" FOREIGN KEY ("piece_id") REFERENCES "public"."pieces"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "piece_events" ADD CONSTRAINT "piece_events_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "piece_events" ADD CONSTRAINT "piece_events_token_id_tokens_id_fk" FOREIGN KEY ("token_id") REFERENCES "public"."tokens"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "piece_events" ADD CONSTRAINT "piece_events_file_id_files_id_fk" FOREIGN KEY ("file_id") REFERENCES "public"."files"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "piece_events" ADD CONSTRAINT "piece_events_note_id_piece_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."piece_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "piece_glazes" ADD CONSTRAINT "piece_glazes_piece_id_pieces_id_fk" FOREIGN KEY ("piece_id") REFERENCES "public"."pieces"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "piece_glazes" ADD CONSTRAINT "piece_glazes_bucket_id_buckets_id_fk" FOREIGN KEY ("bucket_id") REFERENCES "public"."buckets"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "piece_outcomes" ADD CONSTRAINT "piece_outcomes_piece_id_pieces_id_fk" FOREIGN KEY ("piece_id") REFERENCES "public"."pieces"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "piece_outcomes" ADD CONSTRAINT "piece_outcomes_file_id_files_id_fk" FOREIGN KEY ("file_id") REFERENCES "public"."files"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "piece_outcomes" ADD CONSTRAINT "piece_outcomes_note_id_piece_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."piece_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "piece_outcomes" ADD CONSTRAINT "piece_outcomes_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pieces" ADD CONSTRAINT "pieces_clay_id_clays_id_fk" FOREIGN KEY ("clay_id") REFERENCES "public"."clays"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pieces" ADD CONSTRAINT "pieces_file_id_files_id_fk" FOREIGN KEY ("file_id") REFERENCES "public"."files"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pieces" ADD CONSTRAINT "pieces_note_id_piece_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."piece_notes"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pieces" ADD CONSTRAINT "pieces_registered_by_people_id_fk" FOREIGN KEY ("registered_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pieces" ADD CONSTRAINT "pieces_owner_id_people_id_fk" FOREIGN KEY ("owner_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pieces" ADD CONSTRAINT "pieces_owner_group_id_groups_id_fk" FOREIGN KEY ("owner_group_id") REFERENCES "public"."groups"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pieces" ADD CONSTRAINT "pieces_payer_id_people_id_fk" FOREIGN KEY ("payer_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pieces" ADD CONSTRAINT "pieces_payer_group_id_groups_id_fk" FOREIGN KEY ("payer_group_id") REFERENCES "public"."groups"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pieces" ADD CONSTRAINT "pieces_dry_by_people_id_fk" FOREIGN KEY ("dry_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pieces" ADD CONSTRAINT "pieces_yes_by_people_id_fk" FOREIGN KEY ("yes_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "messages_person" ON "messages" USING btree ("person_id","read_at","at");--> statement-breakpoint
CREATE UNIQUE INDEX "calendar_feeds_hash" ON "calendar_feeds" USING btree ("hash");--> statement-breakpoint
CREATE INDEX "calendar_feeds_person" ON "calendar_feeds" USING btree ("person_id");--> statement-breakpoint
CREATE INDEX "firing_logs_load" ON "firing_logs" USING btree ("load_id","made_at");--> statement-breakpoint
CREATE UNIQUE INDEX "kiln_care_voided_once" ON "kiln_care" USING btree ("kiln_id","voids") WHERE "kiln_care"."voids" is not null;--> statement-breakpoint
CREATE UNIQUE INDEX "kilns_code" ON "kilns" USING btree (lower("code"));--> statement-breakpoint
CREATE INDEX "load_events_by_kind" ON "load_events" USING btree ("kind","happened_at");--> statement-breakpoint
CREATE UNIQUE INDEX "load_events_voided_once" ON "load_events" USING btree ("load_id","voids") WHERE "load_events"."voids" is not null;--> statement-breakpoint
CREATE UNIQUE INDEX "load_pieces_reserved_once" ON "load_pieces" USING btree ("piece_id") WHERE "load_pieces"."reserves";--> statement-breakpoint
CREATE INDEX "load_pieces_piece" ON "load_pieces" USING btree ("piece_id");--> statement-breakpoint
CREATE UNIQUE INDEX "loads_number" ON "loads" USING btree ("number");--> statement-breakpoint
CREATE INDEX "loads_kiln" ON "loads" USING btree ("kiln_id","starts_at");--> statement-breakpoint
CREATE INDEX "loads_state" ON "loads" USING btree ("state");--> statement-breakpoint
CREATE UNIQUE INDEX "schedules_number" ON "schedules" USING btree ("number");--> statement-breakpoint
CREATE UNIQUE INDEX "clays_name" ON "clays" USING btree (lower("name"));--> statement-breakpoint
CREATE UNIQUE INDEX "glaze_conflicts_pair" ON "glaze_conflicts" USING btree ("tag_a","tag_b");--> statement-breakpoint
CREATE INDEX "group_people_person" ON "group_people" USING btree ("person_id");--> statement-breakpoint
CREATE UNIQUE INDEX "groups_name" ON "groups" USING btree (lower("name"));--> statement-breakpoint
CREATE INDEX "marks_person" ON "marks" USING btree ("person_id");--> statement-breakpoint
CREATE INDEX "piece_glazes_bucket" ON "piece_glazes" USING btree ("bucket_id");--> statement-breakpoint
CREATE INDEX "piece_outcomes_load" ON "piece_outcomes" USING btree ("load");--> statement-breakpoint
CREATE INDEX "piece_outcomes_newest" ON "piece_outcomes" USING btree ("piece_id","load","id");--> statement-breakpoint
CREATE UNIQUE INDEX "pieces_number" ON "pieces" USING btree ("number");--> statement-breakpoint
CREATE INDEX "pieces_owner" ON "pieces" USING btree ("owner_id","stage");--> statement-breakpoint
CREATE INDEX "pieces_group" ON "pieces" USING btree ("owner_group_id","stage");--> statement-breakpoint
CREATE INDEX "pieces_stage" ON "pieces" USING btree ("stage","waiting_since");--> statement-breakpoint
CREATE INDEX "pieces_load" ON "pieces" USING btree ("load");--> statement-breakpoint
CREATE INDEX "pieces_batch" ON "pieces" USING btree ("batch");--> statement-breakpoint
CREATE INDEX "pieces_registered" ON "pieces" USING btree ("registered_by","number");