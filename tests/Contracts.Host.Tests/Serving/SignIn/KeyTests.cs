using System.Security.Cryptography;
using System.Text;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Callers;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Serving.SignIn;

/// <summary>Keys of programs: told once, kept as a hash, ended for good, and every read with a line before it.</summary>
public sealed class KeyTests(Server server)
{
    [Fact]
    public async Task A_key_is_printed_once_and_only_its_hash_is_kept()
    {
        var database = await server.NewDatabaseAsync();
        var made = await Shell.ContractsAsync(database, "key", "new", "--role", "auditor", "--name", "Year end", "--days", "2", "--by", "An owner");
        Assert.True(made.Exit == 0, made.Error);
        var text = made.Output.Trim();
        Assert.Matches("^contracts_[A-Za-z0-9_-]{43}$", text);
        Assert.DoesNotContain(text, made.Error, StringComparison.Ordinal);
        await using var source = NpgsqlDataSource.Create(database);
        await using var command = source.CreateCommand("select digest from access.keys");
        Assert.Equal(SHA256.HashData(Encoding.UTF8.GetBytes(text)), (byte[])(await command.ExecuteScalarAsync())!);
        await using var whole = source.CreateCommand("select string_agg(k::text, '') from access.keys k");
        Assert.DoesNotContain(text[10..], (string)(await whole.ExecuteScalarAsync())!, StringComparison.Ordinal);
        var listed = (await Shell.ContractsAsync(database, "key", "list", "--format", "json")).Output;
        Assert.Contains("\"name\":\"Year end\",\"role\":\"auditor\"", listed, StringComparison.Ordinal);
        Assert.Contains("\"madeBy\":\"An owner\"", listed, StringComparison.Ordinal);
        Assert.DoesNotContain(text, listed, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_revoked_key_stays_in_the_list_and_opens_nothing_and_an_unknown_one_is_wrong_usage()
    {
        var database = await server.NewDatabaseAsync();
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        var (text, key) = await store.Keys.MakeAsync("A till", "counter", 1, "An owner");
        Assert.True((await store.Keys.FindAsync(text))!.IsGood);
        Assert.Null(await store.Keys.FindAsync(text + "x"));
        Assert.Equal(0, (await Shell.ContractsAsync(database, "key", "revoke", key.Id, "--by", "A manager")).Exit);
        Assert.Equal(0, (await Shell.ContractsAsync(database, "key", "revoke", key.Id, "--by", "Another")).Exit);
        var after = (await store.Keys.FindAsync(text))!;
        Assert.False(after.IsGood);
        Assert.Equal("A manager", after.RevokedBy);
        Assert.Equal(2, (await Shell.ContractsAsync(database, "key", "revoke", "k-none")).Exit);
        Assert.Equal(2, (await Shell.ContractsAsync(database, "key", "new", "--role", "king")).Exit);
    }

    [Fact]
    public async Task A_key_ends_by_the_databases_clock()
    {
        await using var store = await server.NewStoreAsync();
        var (text, key) = await store.Keys.MakeAsync("A till", "counter", 1, "An owner");
        await Server.RunAsync(store.Connection.Owner ?? store.Connection.Everyday, $"update access.keys set expires_at = clock_timestamp() where id = '{key.Id}'");
        Assert.False((await store.Keys.FindAsync(text))!.IsGood);
    }

    [Fact]
    public async Task Who_read_is_kept_in_order()
    {
        await using var store = await server.NewStoreAsync();
        await store.Readings.AddAsync("A", "auditor", "/v1/accounts/{contract}", "C-1", "year end");
        await store.Readings.AddAsync("B", "support", "/v1/accounts", null, "a call");
        await store.Readings.AddAsync("C", "support", "/v1/accounts/{contract}", "C-1", "a call");
        Assert.Equal(["A", "C"], (await store.Readings.OfAsync("C-1")).Select(read => read.By));
    }
}
