CREATE TABLE "bucket_events" (
	"bucket_id" bigint NOT NULL,
	"number" integer NOT NULL,
	"kind" text NOT NULL,
	"happened_at" timestamptz(3) NOT NULL,
	"recorded_at" timestamptz(3) NOT NULL,
	"by" bigint NOT NULL,
	"token_id" bigint,
	"voids" integer,
	"note_id" bigint,
	"v" smallint NOT NULL,
	"payload" jsonb NOT NULL,
	"used_l" double precision,
	CONSTRAINT "bucket_events_bucket_id_number_pk" PRIMARY KEY("bucket_id","number")
);
--> statement-breakpoint
CREATE TABLE "bucket_notes" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "bucket_notes_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"bucket_id" bigint NOT NULL,
	"text" text NOT NULL
);
--> statement-breakpoint
CREATE TABLE "bucket_state" (
	"bucket_id" bigint PRIMARY KEY NOT NULL,
	"last_number" integer NOT NULL,
	"last_happened_at" timestamptz(3),
	"litres" double precision,
	"litres_u" double precision NOT NULL,
	"level_seen_at" timestamptz(3),
	"pieces_since_level" integer NOT NULL,
	"solids_kg" double precision,
	"water_kg" double precision,
	"gravity" double precision,
	"gravity_u" double precision NOT NULL,
	"gravity_basis" text,
	"gravity_at" timestamptz(3),
	"solids_density" double precision NOT NULL,
	"has_solubles" boolean NOT NULL,
	"recipe" jsonb,
	"stirred_at" timestamptz(3),
	"reading_at" timestamptz(3),
	"reading_number" integer,
	"reading_gravity" double precision,
	"shift" double precision NOT NULL,
	"unknown_litres" double precision NOT NULL,
	"unpredictable" boolean NOT NULL,
	"changed_at" timestamptz(3),
	"recent" jsonb NOT NULL,
	"service" text NOT NULL,
	"service_cause" text,
	"service_since" timestamptz(3),
	"service_number" integer,
	"tag_hung_at" timestamptz(3),
	"doubts" jsonb NOT NULL
);
--> statement-breakpoint
CREATE TABLE "buckets" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "buckets_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"code" text NOT NULL,
	"name" text NOT NULL,
	"colour" text NOT NULL,
	"place" text NOT NULL,
	"bottom_mm" double precision,
	"top_mm" double precision,
	"height_mm" double precision,
	"capacity_l" double precision NOT NULL,
	"sg_low" double precision NOT NULL,
	"sg_aim" double precision NOT NULL,
	"sg_high" double precision NOT NULL,
	"cone_from" text,
	"cone_to" text,
	"atmosphere" text,
	"stir_interval_min" double precision NOT NULL,
	"reading_trusted_h" double precision NOT NULL,
	"sieve_mesh" integer NOT NULL,
	"care_notes" text NOT NULL,
	"rinse_bucket" text NOT NULL,
	"mix_more_fraction" double precision NOT NULL,
	"first_recipe_id" bigint NOT NULL,
	"first_recipe_version" integer NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	CONSTRAINT "buckets_band" CHECK ("buckets"."sg_low" < "buckets"."sg_aim" and "buckets"."sg_aim" < "buckets"."sg_high")
);
--> statement-breakpoint
CREATE TABLE "cups" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "cups_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"code" text NOT NULL,
	"name" text NOT NULL,
	"tare_g" double precision NOT NULL,
	"water_g" double precision NOT NULL,
	"water_c" double precision NOT NULL,
	"resolution_g" double precision NOT NULL,
	"retired_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "audit" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "audit_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"at" timestamptz(3) NOT NULL,
	"by" bigint,
	"token_id" bigint,
	"act" text NOT NULL,
	"subject" text NOT NULL,
	"details" jsonb DEFAULT '{}'::jsonb NOT NULL
);
--> statement-breakpoint
CREATE TABLE "idempotency_keys" (
	"person_id" bigint NOT NULL,
	"key" text NOT NULL,
	"fingerprint" text NOT NULL,
	"answer" jsonb,
	"made_at" timestamptz(3) NOT NULL,
	CONSTRAINT "idempotency_keys_person_id_key_pk" PRIMARY KEY("person_id","key")
);
--> statement-breakpoint
CREATE TABLE "people" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "people_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"name" text NOT NULL,
	"email" text NOT NULL,
	"role" text NOT NULL,
	"units" text,
	"password_hash" text NOT NULL,
	"active" boolean DEFAULT true NOT NULL,
	"joined_at" timestamptz(3) NOT NULL,
	CONSTRAINT "people_role" CHECK ("people"."role" in ('member', 'technician', 'manager'))
);
--> statement-breakpoint
CREATE TABLE "sessions" (
	"id_hash" text PRIMARY KEY NOT NULL,
	"person_id" bigint NOT NULL,
	"expires_at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "studio" (
	"id" smallint PRIMARY KEY DEFAULT 1 NOT NULL,
	"name" text NOT NULL,
	"time_zone" text NOT NULL,
	"currency" text NOT NULL,
	"units" text NOT NULL,
	"set_up_at" timestamptz(3) NOT NULL,
	CONSTRAINT "studio_is_one" CHECK ("studio"."id" = 1)
);
--> statement-breakpoint
CREATE TABLE "tokens" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "tokens_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"person_id" bigint NOT NULL,
	"name" text NOT NULL,
	"hash" text NOT NULL,
	"scopes" text[],
	"created_at" timestamptz(3) NOT NULL,
	"expires_at" timestamptz(3),
	"revoked_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "materials" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "materials_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"name" text NOT NULL,
	"density_g_cm3" double precision NOT NULL
);
--> statement-breakpoint
CREATE TABLE "recipe_lines" (
	"recipe_id" bigint NOT NULL,
	"version" integer NOT NULL,
	"position" integer NOT NULL,
	"material_id" bigint NOT NULL,
	"parts_by_mass" double precision NOT NULL,
	"density_g_cm3" double precision NOT NULL,
	CONSTRAINT "recipe_lines_recipe_id_version_position_pk" PRIMARY KEY("recipe_id","version","position")
);
--> statement-breakpoint
CREATE TABLE "recipe_versions" (
	"recipe_id" bigint NOT NULL,
	"version" integer NOT NULL,
	"solids_density_g_cm3" double precision NOT NULL,
	"has_solubles" boolean NOT NULL,
	"made_by" bigint NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	CONSTRAINT "recipe_versions_recipe_id_version_pk" PRIMARY KEY("recipe_id","version")
);
--> statement-breakpoint
CREATE TABLE "recipes" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "recipes_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"name" text NOT NULL,
	"latest_version" integer NOT NULL
);
--> statement-breakpoint
CREATE TABLE "links" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "links_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"kind" text NOT NULL,
	"hash" text NOT NULL,
	"email" text,
	"role" text,
	"person_id" bigint,
	"made_by" bigint,
	"made_at" timestamptz(3) NOT NULL,
	"expires_at" timestamptz(3) NOT NULL,
	"used_at" timestamptz(3),
	CONSTRAINT "links_kind" CHECK (("links"."kind" = 'invitation' and "links"."email" is not null and "links"."role" is not null)
        or ("links"."kind" = 'reset' and "links"."person_id" is not null))
);
--> statement-breakpoint
CREATE TABLE "sign_in_failures" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "sign_in_failures_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"email" text NOT NULL,
	"address" text NOT NULL,
	"at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
ALTER TABLE "bucket_events" ADD CONSTRAINT "bucket_events_bucket_id_buckets_id_fk" FOREIGN KEY ("bucket_id") REFERENCES "public"."buckets"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bucket_events" ADD CONSTRAINT "bucket_events_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bucket_events" ADD CONSTRAINT "bucket_events_token_id_tokens_id_fk" FOREIGN KEY ("token_id") REFERENCES "public"."tokens"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bucket_events" ADD CONSTRAINT "bucket_events_note_id_bucket_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."bucket_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bucket_events" ADD CONSTRAINT "bucket_events_voids" FOREIGN KEY ("bucket_id","voids") REFERENCES "public"."bucket_events"("bucket_id","number") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bucket_notes" ADD CONSTRAINT "bucket_notes_bucket_id_buckets_id_fk" FOREIGN KEY ("bucket_id") REFERENCES "public"."buckets"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "bucket_state" ADD CONSTRAINT "bucket_state_bucket_id_buckets_id_fk" FOREIGN KEY ("bucket_id") REFERENCES "public"."buckets"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "buckets" ADD CONSTRAINT "buckets_first_recipe" FOREIGN KEY ("first_recipe_id","first_recipe_version") REFERENCES "public"."recipe_versions"("recipe_id","version") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "sessions" ADD CONSTRAINT "sessions_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "tokens" ADD CONSTRAINT "tokens_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "recipe_lines" ADD CONSTRAINT "recipe_lines_material_id_materials_id_fk" FOREIGN KEY ("material_id") REFERENCES "public"."materials"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "recipe_lines" ADD CONSTRAINT "recipe_lines_version" FOREIGN KEY ("recipe_id","version") REFERENCES "public"."recipe_versions"("recipe_id","version") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "recipe_versions" ADD CONSTRAINT "recipe_versions_recipe_id_recipes_id_fk" FOREIGN KEY ("recipe_id") REFERENCES "public"."recipes"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "recipe_versions" ADD CONSTRAINT "recipe_versions_made_by_people_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "links" ADD CONSTRAINT "links_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "links" ADD CONSTRAINT "links_made_by_people_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "bucket_events_by_kind" ON "bucket_events" USING btree ("bucket_id","kind","happened_at");--> statement-breakpoint
CREATE INDEX "bucket_events_of_late" ON "bucket_events" USING btree ("kind","happened_at");--> statement-breakpoint
CREATE UNIQUE INDEX "bucket_events_voided_once" ON "bucket_events" USING btree ("bucket_id","voids") WHERE "bucket_events"."voids" is not null;--> statement-breakpoint
CREATE UNIQUE INDEX "buckets_code" ON "buckets" USING btree (lower("code"));--> statement-breakpoint
CREATE UNIQUE INDEX "cups_code" ON "cups" USING btree (lower("code"));--> statement-breakpoint
CREATE INDEX "idempotency_keys_age" ON "idempotency_keys" USING btree ("made_at");--> statement-breakpoint
CREATE UNIQUE INDEX "people_email" ON "people" USING btree ("email");--> statement-breakpoint
CREATE INDEX "sessions_person" ON "sessions" USING btree ("person_id");--> statement-breakpoint
CREATE UNIQUE INDEX "tokens_hash" ON "tokens" USING btree ("hash");--> statement-breakpoint
CREATE INDEX "tokens_person" ON "tokens" USING btree ("person_id");--> statement-breakpoint
CREATE UNIQUE INDEX "materials_name" ON "materials" USING btree (lower("name"));--> statement-breakpoint
CREATE UNIQUE INDEX "recipes_name" ON "recipes" USING btree (lower("name"));--> statement-breakpoint
CREATE UNIQUE INDEX "links_hash" ON "links" USING btree ("hash");--> statement-breakpoint
CREATE INDEX "sign_in_failures_account" ON "sign_in_failures" USING btree ("email","address","at");--> statement-breakpoint
CREATE INDEX "sign_in_failures_address" ON "sign_in_failures" USING btree ("address","at");