using System.Text;
using Contracts.Host.Tests.Support;
using Contracts.Seals;
using Contracts.Store;
using Contracts.Store.Seals;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Seals;

public sealed class SealingTests(Server server)
{
    [Fact]
    public async Task Every_event_gets_one_leaf_and_the_head_is_signed()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(contracts: 3, payments: 2);

        var report = await shop.SealCleanlyAsync();

        Assert.Equal(await shop.NumberAsync("select count(*) from contracts.mt_events"), report.Events);
        Assert.Equal(report.Size, report.Checkpoint!.Size);
        var key = Assert.Single(await shop.Store.Seals.KeysAsync());
        var opened = Checkpoint.Open(Encoding.UTF8.GetBytes(report.Checkpoint.Note), key);
        Assert.Equal(report.Checkpoint.Root, opened.Value.Checkpoint.Root);
        Assert.Equal(await shop.Store.Seals.OriginAsync(), opened.Value.Checkpoint.Origin);
        await shop.CheckCleanAsync();
    }

    [Fact]
    public async Task Sealing_again_without_news_changes_nothing()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(2, 1);
        var first = await shop.SealCleanlyAsync();

        var second = await shop.SealCleanlyAsync();

        Assert.Equal((0, first.Size, first.Checkpoint), (second.Events, second.Size, second.Checkpoint));
    }

    [Fact]
    public async Task What_is_read_of_a_stream_is_proved_by_the_checkpoint()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(3, 4);
        var report = await shop.SealCleanlyAsync();
        var head = report.Checkpoint!;

        var events = await shop.Store.Seals.EventsAsync("C-2", head.Size, TestContext.Current.CancellationToken);

        Assert.Equal(Enumerable.Range(1, events.Count).Select(version => (long)version), events.Select(one => one.Entry.StreamVersion));
        var previous = Digest.Zero;
        foreach (var one in events)
        {
            Assert.Equal(one.Entry.Data, Digest.Of(one.Payload));
            Assert.Equal(one.Entry.Headers, Digest.Of(one.Headers));
            Assert.Equal(previous, one.Entry.Previous);
            previous = MerkleTree.LeafHash(one.EntryBytes);
            var proof = await shop.Store.Seals.InclusionAsync(one.Index, head.Size, TestContext.Current.CancellationToken);
            Assert.Null(proof.Verify(previous, head.Root));
        }

        var anchor = Assert.Single(report.Anchors);
        var heads = await shop.Store.Seals.HeadsAsync(anchor, TestContext.Current.CancellationToken);
        Assert.Null(heads.Prove(StoredHeads.Tenant, "C-2").Verify(StoredHeads.Tenant, "C-2", anchor.Entry.HeadCount, anchor.Entry.Heads));
        Assert.Equal(previous, heads.Prove(StoredHeads.Tenant, "C-2").Found!.Head.Leaf);
        Assert.Null(heads.Prove(StoredHeads.Tenant, "C-22").Verify(StoredHeads.Tenant, "C-22", anchor.Entry.HeadCount, anchor.Entry.Heads));
    }

    [Fact]
    public async Task Any_two_checkpoints_are_proved_to_continue_each_other()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        var heads = new List<StoredCheckpoint>();
        for (var day = 0; day < 6; day++)
        {
            await shop.LiveAsync(7, 12, $"D{day}");
            heads.Add((await shop.SealCleanlyAsync()).Checkpoint!);
        }

        foreach (var (old, later) in heads.SelectMany((old, index) => heads.Skip(index).Select(later => (old, later))))
        {
            var proof = await shop.Store.Seals.ConsistencyAsync(old.Size, later.Size, TestContext.Current.CancellationToken);
            Assert.Null(proof.Verify(old.Root, later.Root));
            Assert.Equal(old.Root, await shop.Store.Seals.RootAsync(old.Size, TestContext.Current.CancellationToken));
        }

        Assert.True(heads[^1].Size > 2 * 256);
        await shop.CheckCleanAsync();
    }

    [Fact]
    public async Task A_row_that_comes_late_under_a_smaller_number_is_sealed_as_well()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(1, 1);
        // Two numbers are drawn by somebody who is slow...
        await shop.ScalarAsync("select nextval('contracts.mt_events_sequence') + nextval('contracts.mt_events_sequence')");
        var slow = await shop.NumberAsync("select last_value from contracts.mt_events_sequence");
        await shop.LiveAsync(1, 1, "E");
        await shop.SealCleanlyAsync();

        // ...and are used when larger ones are sealed already.
        await shop.ScalarAsync($$"""
            insert into contracts.mt_streams (id, version, timestamp, created, tenant_id) values ('tax:Late', 1, now(), now(), '*DEFAULT*');
            insert into contracts.mt_events (seq_id, id, stream_id, version, data, type, timestamp, tenant_id, headers, is_archived)
            values ({{slow}}, gen_random_uuid(), 'tax:Late', 1, '{"a":1}', 'tax_rate_set', now(), '*DEFAULT*', '{"key":"late"}', false)
            """);
        var report = await shop.SealCleanlyAsync();

        Assert.Equal(1, report.Events);
        Assert.Equal(1, await shop.NumberAsync($"select count(*) from audit.leaf where event_seq = {slow}"));
        await shop.CheckCleanAsync();
    }

    [Fact]
    public async Task Versions_are_sealed_in_their_order_whatever_their_numbers()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(1, 3);
        await shop.TamperAsync("""
            update contracts.mt_events set seq_id = -seq_id where stream_id = 'C-1';
            update contracts.mt_events set seq_id = 100 - version where stream_id = 'C-1';
            select setval('contracts.mt_events_sequence', 100);
            """);

        var report = await shop.SealCleanlyAsync();

        Assert.Equal(report.Events, await shop.NumberAsync("select count(*) from contracts.mt_events"));
        Assert.Equal(1, await shop.NumberAsync("""
            select count(*) filter (where disordered) + 1 from (
                select leaf_index < lag(leaf_index) over (order by version) as disordered from audit.leaf where stream = 'C-1') x
            """));
        await shop.CheckCleanAsync();
    }

    [Fact]
    public async Task A_version_without_the_one_before_it_is_refused_and_named_and_the_rest_is_sealed()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(2, 3);
        await shop.TamperAsync("delete from contracts.mt_events where stream_id = 'C-1' and version = 2");

        var report = await shop.SealAsync();

        Assert.Contains(report.Alarms, alarm => alarm is { Kind: "version-missing", Stream: "C-1", Version: 2 });
        Assert.Equal(1, await shop.NumberAsync("select count(*) from audit.leaf where stream = 'C-1'"));
        Assert.Equal(
            await shop.NumberAsync("select count(*) from contracts.mt_events where stream_id = 'C-2'"),
            await shop.NumberAsync("select count(*) from audit.leaf where stream = 'C-2'"));
        Assert.Contains((await shop.CheckAsync()).Findings, found => found is { Stream: "C-1", Version: 2, Field: "row" });
    }

    [Fact]
    public async Task The_database_refuses_a_leaf_that_does_not_follow_and_any_change_of_one()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(1, 1);
        await shop.SealCleanlyAsync();
        var size = await shop.Store.Seals.SizeAsync(TestContext.Current.CancellationToken);
        foreach (var wrong in new[]
        {
            $"insert into audit.leaf (leaf_index, kind, leaf_hash, entry) values ({size + 1}, 'anchor', decode(repeat('00', 32), 'hex'), '')",
            "update audit.leaf set entry = ''", "delete from audit.leaf", "truncate audit.leaf cascade", "update audit.checkpoint set note = ''",
            "delete from audit.root", "update audit.node set idx = 1", "update audit.log set origin = 'x'", "delete from audit.key", "delete from audit.hole",
        })
        {
            if (wrong.Contains("node", StringComparison.Ordinal) || wrong.Contains("hole", StringComparison.Ordinal))
            {
                // A statement trigger fires on an empty table only for truncate; a row makes the other kinds fire.
                await shop.TamperAsync("insert into audit.node values (8, 0, decode(repeat('00', 32), 'hex')); insert into audit.hole values (1000, 1001)");
            }

            await Assert.ThrowsAsync<PostgresException>(() => Server.RunAsync(shop.Database, wrong));
            await shop.TamperAsync("delete from audit.node; delete from audit.hole");
        }

        await shop.CheckCleanAsync();
    }

    [Fact]
    public async Task Concurrent_writers_and_sealers_lose_nothing_and_seal_once()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        var writing = true;
        var sealers = Enumerable.Range(0, 2).Select(_ => Task.Run(async () =>
        {
            while (Volatile.Read(ref writing)) { await shop.SealCleanlyAsync(); }
        })).ToArray();
        await Task.WhenAll(Enumerable.Range(0, 4).Select(writer => Task.Run(async () =>
        {
            for (var round = 0; round < 8; round++) { await shop.LiveAsync(2, 3, $"W{writer}-{round}"); }
        })));
        Volatile.Write(ref writing, false);
        await Task.WhenAll(sealers);

        await shop.SealCleanlyAsync();

        var events = await shop.NumberAsync("select count(*) from contracts.mt_events");
        Assert.Equal(events, await shop.NumberAsync("select count(distinct event_seq) from audit.leaf"));
        Assert.Equal(events, await shop.NumberAsync("select count(*) from audit.leaf where kind = 'event'"));
        await shop.CheckCleanAsync();
    }

    [Fact]
    public async Task A_month_is_not_closed_over_events_that_cannot_be_sealed()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.SealCleanlyAsync();
        await shop.LiveAsync(1, 3);
        await shop.TamperAsync("delete from contracts.mt_events where stream_id = 'C-1' and version = 2");
        var (exit, _, error) = await Shell.ContractsAsync(shop.Database, "close", "2026-08");
        Assert.Equal(3, exit);
        Assert.Contains("cannot be sealed, and a month is not closed over them", error, StringComparison.Ordinal);
        Assert.Equal(0, await shop.NumberAsync("select count(*) from contracts.periods"));
    }

    [Fact]
    public async Task The_canonical_form_of_an_event_is_the_same_before_and_after_the_database_has_kept_it()
    {
        await using var source = Npgsql.NpgsqlDataSource.Create(await server.NewDatabaseAsync());
        var random = new Random(20261126);
        for (var round = 0; round < 20; round++)
        {
            var texts = Enumerable.Range(0, 500).Select(_ => Json(random, 0)).ToArray();
            await using var command = source.CreateCommand("select t, t::jsonb::text from unnest($1) with ordinality as given (t, n) order by n");
            command.Parameters.Add(new Npgsql.NpgsqlParameter<string[]> { TypedValue = texts });
            await using var reader = await command.ExecuteReaderAsync(TestContext.Current.CancellationToken);
            while (await reader.ReadAsync(TestContext.Current.CancellationToken))
            {
                var (given, kept) = (System.Text.Encoding.UTF8.GetBytes(reader.GetString(0)), System.Text.Encoding.UTF8.GetBytes(reader.GetString(1)));
                Assert.Equal(Contracts.Seals.CanonicalJson.Restricted(given).Value, Contracts.Seals.CanonicalJson.Restricted(kept).Value);
            }
        }

        // An object, an array, a text with whatever letters, a whole number, a word: the restricted model.
        static string Json(Random random, int depth) => random.Next(depth > 3 ? 3 : 5) switch
        {
            0 => System.Text.Json.JsonSerializer.Serialize(Text(random)),
            1 => random.NextInt64(-9_007_199_254_740_991, 9_007_199_254_740_992).ToString(System.Globalization.CultureInfo.InvariantCulture),
            2 => new[] { "true", "false", "null" }[random.Next(3)],
            3 => $"[{string.Join(", ", Enumerable.Range(0, random.Next(5)).Select(_ => Json(random, depth + 1)))}]",
            _ => "{" + string.Join(" ,", Enumerable.Range(0, random.Next(6)).Select(number => $"{System.Text.Json.JsonSerializer.Serialize(number + Text(random))}: {Json(random, depth + 1)}")) + "}",
        };

        static string Text(Random random) => string.Concat(Enumerable.Range(0, random.Next(8)).Select(_ => char.ConvertFromUtf32(random.Next(6) switch
        {
            0 => random.Next(0x10000, 0x110000),
            1 => random.Next(0xE000, 0x10000),
            2 => random.Next(1, 0x20),
            3 => random.Next(0x80, 0xD800),
            _ => random.Next(0x20, 0x7F),
        })));
    }
}
