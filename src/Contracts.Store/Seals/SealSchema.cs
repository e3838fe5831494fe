namespace Contracts.Store.Seals;

/// <summary>
/// The tables of the seals. All are append-only, which triggers hold against everyone but a superuser who switches them
/// off; what such a person does is found by the check, not prevented here.
/// </summary>
internal static class SealSchema
{
    /// <summary>
    /// `leaf` is the log; a leaf follows the one before without a gap. `node` holds the hashes at every eighth level above
    /// the leaves, which is what tiles are cut from. `root` is the root after each sealing, `checkpoint` the same signed;
    /// each names the one before, so that none can be taken out. `hole` notes the sequence numbers that were passed over,
    /// since a slow transaction may still fill them. There is no column that the check could not hold against something.
    /// </summary>
    public const string Sql = """
        create schema if not exists audit;
        create table audit.log (
            only_row boolean primary key default true check (only_row),
            origin text not null);
        insert into audit.log (origin) values ('contracts/' || replace(gen_random_uuid()::text, '-', ''));
        create table audit.key (
            number int primary key check (number >= 0),
            vkey text not null unique);
        create table audit.leaf (
            leaf_index bigint primary key check (leaf_index >= 0),
            kind text not null,
            event_seq bigint null unique,
            stream text collate "C" null,
            version bigint null,
            leaf_hash bytea not null check (octet_length(leaf_hash) = 32),
            entry bytea not null,
            unique (stream, version),
            check ((kind = 'event') = (event_seq is not null and stream is not null and version is not null)));
        create table audit.node (
            level smallint not null check (level > 0 and level % 8 = 0),
            idx bigint not null check (idx >= 0),
            hash bytea not null check (octet_length(hash) = 32),
            primary key (level, idx));
        create table audit.root (
            size bigint primary key check (size > 0),
            root bytea not null check (octet_length(root) = 32),
            previous bigint null unique references audit.root (size));
        create table audit.checkpoint (
            size bigint primary key references audit.root (size),
            root bytea not null check (octet_length(root) = 32),
            note text not null,
            previous bigint null unique references audit.checkpoint (size));
        create index checkpoint_root on audit.checkpoint (root);
        create table audit.anchor (
            leaf_index bigint primary key references audit.leaf (leaf_index),
            reason text not null,
            at timestamptz not null,
            period text null unique);
        create table audit.hole (
            first bigint primary key,
            last bigint not null check (last >= first));
        create table audit.timestamp (
            size bigint not null references audit.checkpoint (size),
            token bytea not null,
            primary key (size, token));

        create function audit.refuse_change() returns trigger language plpgsql as $body$
        begin
            raise exception 'audit.% is append-only', tg_table_name using errcode = 'insufficient_privilege';
        end $body$;
        create function audit.require_next_leaf() returns trigger language plpgsql as $body$
        declare
            lowest bigint;
            highest bigint;
            rows bigint;
        begin
            select min(leaf_index), max(leaf_index), count(*) into lowest, highest, rows from added;
            if rows = 0 then return null; end if;
            if highest - lowest + 1 <> rows
                or (lowest > 0 and not exists (select from audit.leaf l where l.leaf_index = lowest - 1)) then
                raise exception 'leaf % does not follow the one before', lowest using errcode = 'check_violation';
            end if;
            return null;
        end $body$;
        create trigger next_leaf after insert on audit.leaf
            referencing new table as added for each statement execute function audit.require_next_leaf();
        do $body$
        declare
            name text;
        begin
            foreach name in array array['log', 'key', 'leaf', 'node', 'root', 'checkpoint', 'anchor', 'hole', 'timestamp'] loop
                execute format('create trigger append_only before update or delete on audit.%I
                    for each row execute function audit.refuse_change()', name);
                execute format('create trigger never_emptied before truncate on audit.%I
                    for each statement execute function audit.refuse_change()', name);
            end loop;
        end $body$;
        """;
}
