CREATE TABLE "material_lots" (
	"material_id" bigint NOT NULL,
	"number" integer NOT NULL,
	"lot" text NOT NULL,
	"supplier" text NOT NULL,
	"expires_on" text,
	"on_hand_mg" bigint NOT NULL,
	"recalled_at" timestamptz(3),
	"made_at" timestamptz(3) NOT NULL,
	CONSTRAINT "material_lots_material_id_number_pk" PRIMARY KEY("material_id","number")
);
--> statement-breakpoint
CREATE TABLE "material_sheets" (
	"material_id" bigint NOT NULL,
	"number" integer NOT NULL,
	"kind" text NOT NULL,
	"file_id" bigint,
	"supplier" text NOT NULL,
	"issued_on" text,
	"language" text NOT NULL,
	"review_on" text,
	"by" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL,
	CONSTRAINT "material_sheets_material_id_number_pk" PRIMARY KEY("material_id","number")
);
--> statement-breakpoint
CREATE TABLE "material_versions" (
	"material_id" bigint NOT NULL,
	"version" integer NOT NULL,
	"v" smallint NOT NULL,
	"facts" jsonb NOT NULL,
	"by" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL,
	CONSTRAINT "material_versions_material_id_version_pk" PRIMARY KEY("material_id","version")
);
--> statement-breakpoint
CREATE TABLE "stock_events" (
	"material_id" bigint NOT NULL,
	"number" integer NOT NULL,
	"lot_number" integer NOT NULL,
	"kind" text NOT NULL,
	"mg" bigint,
	"happened_at" timestamptz(3) NOT NULL,
	"recorded_at" timestamptz(3) NOT NULL,
	"by" bigint NOT NULL,
	"token_id" bigint,
	"batch" integer,
	"voids" integer,
	"note_id" bigint,
	"v" smallint NOT NULL,
	CONSTRAINT "stock_events_material_id_number_pk" PRIMARY KEY("material_id","number")
);
--> statement-breakpoint
CREATE TABLE "stock_notes" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "stock_notes_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"text" text NOT NULL
);
--> statement-breakpoint
CREATE TABLE "briefings" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "briefings_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"number" integer NOT NULL,
	"class_name" text NOT NULL,
	"heads" integer NOT NULL,
	"has_children" boolean NOT NULL,
	"held_on" text NOT NULL,
	"bucket_codes" text[] NOT NULL,
	"roster_id" bigint NOT NULL,
	"by" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "container_events" (
	"container_id" bigint NOT NULL,
	"number" integer NOT NULL,
	"kind" text NOT NULL,
	"happened_at" timestamptz(3) NOT NULL,
	"recorded_at" timestamptz(3) NOT NULL,
	"by" bigint NOT NULL,
	"token_id" bigint,
	"litres" double precision NOT NULL,
	"bucket_id" bigint,
	"bucket_event" integer,
	"voids" integer,
	"note_id" bigint,
	"v" smallint NOT NULL,
	"payload" jsonb NOT NULL,
	CONSTRAINT "container_events_container_id_number_pk" PRIMARY KEY("container_id","number")
);
--> statement-breakpoint
CREATE TABLE "containers" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "containers_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"code" text NOT NULL,
	"name" text NOT NULL,
	"kind" text NOT NULL,
	"place" text NOT NULL,
	"parent_bucket_id" bigint,
	"capacity_l" double precision NOT NULL,
	"last_number" integer NOT NULL,
	"litres" double precision NOT NULL,
	"retired_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "drain_permissions" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "drain_permissions_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"container_id" bigint NOT NULL,
	"authority" text NOT NULL,
	"valid_to" text NOT NULL,
	"by" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "duties" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "duties_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"number" integer NOT NULL,
	"name" text NOT NULL,
	"every_days" integer NOT NULL,
	"kind" text NOT NULL,
	"for_role" text NOT NULL,
	"from_on" text NOT NULL,
	"ended_at" timestamptz(3),
	CONSTRAINT "duties_number" UNIQUE("number")
);
--> statement-breakpoint
CREATE TABLE "inductions" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "inductions_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"person_id" bigint NOT NULL,
	"verb" text NOT NULL,
	"given_on" text NOT NULL,
	"by" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"voids" bigint,
	"note_id" bigint
);
--> statement-breakpoint
CREATE TABLE "leach_tests" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "leach_tests_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"number" integer NOT NULL,
	"recipe_id" bigint NOT NULL,
	"recipe_version" integer NOT NULL,
	"clay_id" bigint,
	"cone" text NOT NULL,
	"rules" text NOT NULL,
	"category" text NOT NULL,
	"passed" boolean NOT NULL,
	"lab" text NOT NULL,
	"tested_on" text NOT NULL,
	"payload" jsonb NOT NULL,
	"v" smallint NOT NULL,
	"file_id" bigint,
	"voids" integer,
	"by" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "notice_reads" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "notice_reads_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"notice_id" bigint NOT NULL,
	"version" integer NOT NULL,
	"person_id" bigint NOT NULL,
	"basis" jsonb,
	"at" timestamptz(3) NOT NULL,
	"token_id" bigint
);
--> statement-breakpoint
CREATE TABLE "notice_versions" (
	"notice_id" bigint NOT NULL,
	"version" integer NOT NULL,
	"kind" text NOT NULL,
	"title" text NOT NULL,
	"dipping" text NOT NULL,
	"mixing" text NOT NULL,
	"cleaning" text NOT NULL,
	"signal_word" text,
	"pictograms" text[] NOT NULL,
	"h_codes" text[] NOT NULL,
	"p_codes" text[] NOT NULL,
	"basis" jsonb,
	"valid_from" text NOT NULL,
	"valid_to" text,
	"not_for_children" boolean NOT NULL,
	"by" bigint NOT NULL,
	"token_id" bigint,
	"at" timestamptz(3) NOT NULL,
	CONSTRAINT "notice_versions_notice_id_version_pk" PRIMARY KEY("notice_id","version")
);
--> statement-breakpoint
CREATE TABLE "notices" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "notices_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"number" integer NOT NULL,
	"scope" text NOT NULL,
	"bucket_id" bigint,
	"material_id" bigint,
	"kiln_id" bigint,
	"room" text,
	"latest_version" integer NOT NULL,
	CONSTRAINT "notices_scope" CHECK ("notices"."scope" in ('bucket', 'material', 'kiln', 'room', 'everywhere'))
);
--> statement-breakpoint
CREATE TABLE "safety_entries" (
	"number" integer PRIMARY KEY NOT NULL,
	"kind" text NOT NULL,
	"about" integer,
	"happened_at" timestamptz(3) NOT NULL,
	"recorded_at" timestamptz(3) NOT NULL,
	"by" bigint NOT NULL,
	"token_id" bigint,
	"place" text NOT NULL,
	"bucket_id" bigint,
	"material_id" bigint,
	"kiln_id" bigint,
	"duty_id" bigint,
	"restricted" boolean NOT NULL,
	"what_id" bigint,
	"action_id" bigint,
	"owner_id" bigint,
	"due_on" text,
	"v" smallint NOT NULL,
	"payload" jsonb NOT NULL
);
--> statement-breakpoint
CREATE TABLE "safety_notes" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "safety_notes_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"text" text NOT NULL
);
--> statement-breakpoint
CREATE TABLE "safety_photos" (
	"entry" integer NOT NULL,
	"file_id" bigint NOT NULL,
	CONSTRAINT "safety_photos_entry_file_id_pk" PRIMARY KEY("entry","file_id")
);
--> statement-breakpoint
CREATE TABLE "safety_settings" (
	"id" smallint PRIMARY KEY DEFAULT 1 NOT NULL,
	"value" jsonb NOT NULL,
	CONSTRAINT "safety_settings_is_one" CHECK ("safety_settings"."id" = 1)
);
--> statement-breakpoint
ALTER TABLE "materials" ADD COLUMN "latest_version" integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE "materials" ADD COLUMN "reorder_kg" double precision;--> statement-breakpoint
ALTER TABLE "materials" ADD COLUMN "last_stock_number" integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE "materials" ADD COLUMN "retired_at" timestamptz(3);--> statement-breakpoint
ALTER TABLE "material_lots" ADD CONSTRAINT "material_lots_material_id_materials_id_fk" FOREIGN KEY ("material_id") REFERENCES "public"."materials"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "material_sheets" ADD CONSTRAINT "material_sheets_material_id_materials_id_fk" FOREIGN KEY ("material_id") REFERENCES "public"."materials"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "material_sheets" ADD CONSTRAINT "material_sheets_file_id_files_id_fk" FOREIGN KEY ("file_id") REFERENCES "public"."files"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "material_sheets" ADD CONSTRAINT "material_sheets_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "material_versions" ADD CONSTRAINT "material_versions_material_id_materials_id_fk" FOREIGN KEY ("material_id") REFERENCES "public"."materials"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "material_versions" ADD CONSTRAINT "material_versions_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "stock_events" ADD CONSTRAINT "stock_events_material_id_materials_id_fk" FOREIGN KEY ("material_id") REFERENCES "public"."materials"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "stock_events" ADD CONSTRAINT "stock_events_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "stock_events" ADD CONSTRAINT "stock_events_token_id_tokens_id_fk" FOREIGN KEY ("token_id") REFERENCES "public"."tokens"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "stock_events" ADD CONSTRAINT "stock_events_note_id_stock_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."stock_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "stock_events" ADD CONSTRAINT "stock_events_of_lot" FOREIGN KEY ("material_id","lot_number") REFERENCES "public"."material_lots"("material_id","number") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "briefings" ADD CONSTRAINT "briefings_roster_id_safety_notes_id_fk" FOREIGN KEY ("roster_id") REFERENCES "public"."safety_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "briefings" ADD CONSTRAINT "briefings_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "container_events" ADD CONSTRAINT "container_events_container_id_containers_id_fk" FOREIGN KEY ("container_id") REFERENCES "public"."containers"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "container_events" ADD CONSTRAINT "container_events_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "container_events" ADD CONSTRAINT "container_events_token_id_tokens_id_fk" FOREIGN KEY ("token_id") REFERENCES "public"."tokens"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "container_events" ADD CONSTRAINT "container_events_bucket_id_buckets_id_fk" FOREIGN KEY ("bucket_id") REFERENCES "public"."buckets"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "container_events" ADD CONSTRAINT "container_events_note_id_safety_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."safety_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "containers" ADD CONSTRAINT "containers_parent_bucket_id_buckets_id_fk" FOREIGN KEY ("parent_bucket_id") REFERENCES "public"."buckets"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "drain_permissions" ADD CONSTRAINT "drain_permissions_container_id_containers_id_fk" FOREIGN KEY ("container_id") REFERENCES "public"."containers"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "drain_permissions" ADD CONSTRAINT "drain_permissions_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "inductions" ADD CONSTRAINT "inductions_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "inductions" ADD CONSTRAINT "inductions_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "inductions" ADD CONSTRAINT "inductions_note_id_safety_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."safety_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "inductions" ADD CONSTRAINT "inductions_voids" FOREIGN KEY ("voids") REFERENCES "public"."inductions"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "leach_tests" ADD CONSTRAINT "leach_tests_clay_id_clays_id_fk" FOREIGN KEY ("clay_id") REFERENCES "public"."clays"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "leach_tests" ADD CONSTRAINT "leach_tests_file_id_files_id_fk" FOREIGN KEY ("file_id") REFERENCES "public"."files"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "leach_tests" ADD CONSTRAINT "leach_tests_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "leach_tests" ADD CONSTRAINT "leach_tests_recipe_version" FOREIGN KEY ("recipe_id","recipe_version") REFERENCES "public"."recipe_versions"("recipe_id","version") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "notice_reads" ADD CONSTRAINT "notice_reads_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "notice_reads" ADD CONSTRAINT "notice_reads_token_id_tokens_id_fk" FOREIGN KEY ("token_id") REFERENCES "public"."tokens"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "notice_reads" ADD CONSTRAINT "notice_reads_version" FOREIGN KEY ("notice_id","version") REFERENCES "public"."notice_versions"("notice_id","version") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "notice_versions" ADD CONSTRAINT "notice_versions_notice_id_notices_id_fk" FOREIGN KEY ("notice_id") REFERENCES "public"."notices"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "notice_versions" ADD CONSTRAINT "notice_versions_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "notice_versions" ADD CONSTRAINT "notice_versions_token_id_tokens_id_fk" FOREIGN KEY ("token_id") REFERENCES "public"."tokens"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "notices" ADD CONSTRAINT "notices_bucket_id_buckets_id_fk" FOREIGN KEY ("bucket_id") REFERENCES "public"."buckets"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "notices" ADD CONSTRAINT "notices_material_id_materials_id_fk" FOREIGN KEY ("material_id") REFERENCES "public"."materials"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "notices" ADD CONSTRAINT "notices_kiln_id_kilns_id_fk" FOREIGN KEY ("kiln_id") REFERENCES "public"."kilns"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_entries" ADD CONSTRAINT "safety_entries_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_entries" ADD CONSTRAINT "safety_entries_token_id_tokens_id_fk" FOREIGN KEY ("token_id") REFERENCES "public"."tokens"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_entries" ADD CONSTRAINT "safety_entries_bucket_id_buckets_id_fk" FOREIGN KEY ("bucket_id") REFERENCES "public"."buckets"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_entries" ADD CONSTRAINT "safety_entries_material_id_materials_id_fk" FOREIGN KEY ("material_id") REFERENCES "public"."materials"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_entries" ADD CONSTRAINT "safety_entries_kiln_id_kilns_id_fk" FOREIGN KEY ("kiln_id") REFERENCES "public"."kilns"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_entries" ADD CONSTRAINT "safety_entries_duty_id_duties_id_fk" FOREIGN KEY ("duty_id") REFERENCES "public"."duties"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_entries" ADD CONSTRAINT "safety_entries_what_id_safety_notes_id_fk" FOREIGN KEY ("what_id") REFERENCES "public"."safety_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_entries" ADD CONSTRAINT "safety_entries_action_id_safety_notes_id_fk" FOREIGN KEY ("action_id") REFERENCES "public"."safety_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_entries" ADD CONSTRAINT "safety_entries_owner_id_people_id_fk" FOREIGN KEY ("owner_id") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_entries" ADD CONSTRAINT "safety_entries_about_fk" FOREIGN KEY ("about") REFERENCES "public"."safety_entries"("number") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_photos" ADD CONSTRAINT "safety_photos_entry_safety_entries_number_fk" FOREIGN KEY ("entry") REFERENCES "public"."safety_entries"("number") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "safety_photos" ADD CONSTRAINT "safety_photos_file_id_files_id_fk" FOREIGN KEY ("file_id") REFERENCES "public"."files"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
CREATE UNIQUE INDEX "material_lots_lot" ON "material_lots" USING btree ("material_id",lower("lot"));--> statement-breakpoint
CREATE INDEX "stock_events_lot" ON "stock_events" USING btree ("material_id","lot_number","number");--> statement-breakpoint
CREATE INDEX "stock_events_batch" ON "stock_events" USING btree ("batch");--> statement-breakpoint
CREATE UNIQUE INDEX "stock_events_voided_once" ON "stock_events" USING btree ("material_id","voids") WHERE "stock_events"."voids" is not null;--> statement-breakpoint
CREATE UNIQUE INDEX "briefings_number" ON "briefings" USING btree ("number");--> statement-breakpoint
CREATE INDEX "briefings_day" ON "briefings" USING btree ("held_on");--> statement-breakpoint
CREATE INDEX "container_events_bucket" ON "container_events" USING btree ("bucket_id");--> statement-breakpoint
CREATE UNIQUE INDEX "container_events_voided_once" ON "container_events" USING btree ("container_id","voids") WHERE "container_events"."voids" is not null;--> statement-breakpoint
CREATE UNIQUE INDEX "containers_code" ON "containers" USING btree (lower("code"));--> statement-breakpoint
CREATE INDEX "containers_parent" ON "containers" USING btree ("parent_bucket_id");--> statement-breakpoint
CREATE INDEX "inductions_person" ON "inductions" USING btree ("person_id","verb");--> statement-breakpoint
CREATE UNIQUE INDEX "inductions_voided_once" ON "inductions" USING btree ("voids") WHERE "inductions"."voids" is not null;--> statement-breakpoint
CREATE UNIQUE INDEX "leach_tests_number" ON "leach_tests" USING btree ("number");--> statement-breakpoint
CREATE INDEX "leach_tests_recipe" ON "leach_tests" USING btree ("recipe_id","recipe_version");--> statement-breakpoint
CREATE UNIQUE INDEX "leach_tests_voided_once" ON "leach_tests" USING btree ("voids") WHERE "leach_tests"."voids" is not null;--> statement-breakpoint
CREATE UNIQUE INDEX "notice_reads_once" ON "notice_reads" USING btree ("notice_id","version","person_id");--> statement-breakpoint
CREATE INDEX "notice_reads_person" ON "notice_reads" USING btree ("person_id");--> statement-breakpoint
CREATE UNIQUE INDEX "notices_number" ON "notices" USING btree ("number");--> statement-breakpoint
CREATE INDEX "notices_bucket" ON "notices" USING btree ("bucket_id");--> statement-breakpoint
CREATE INDEX "safety_entries_time" ON "safety_entries" USING btree ("happened_at");--> statement-breakpoint
CREATE INDEX "safety_entries_about" ON "safety_entries" USING btree ("about");--> statement-breakpoint
CREATE INDEX "safety_entries_kind" ON "safety_entries" USING btree ("kind","happened_at");