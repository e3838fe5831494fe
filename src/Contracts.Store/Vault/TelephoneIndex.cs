using System.Buffers.Binary;
using System.Security.Cryptography;
using System.Text;
using Contracts.Agreements;
using Contracts.Households;
using Contracts.Store.Setup;
using Npgsql;

namespace Contracts.Store.Vault;

/// <summary>
/// Finds families by a telephone number that lies sealed. Beside each sealed number stands one of 4,096 drawers, told by a key outside the database; a search
/// opens the numbers of one drawer with their households' keys. A drawer fits millions of numbers, so what a backup keeps of it after an erasure gives none away.
/// </summary>
internal sealed class TelephoneIndex(NpgsqlDataSource vault)
{
    private const int Drawers = 4096;

    /// <summary>The name of the fact.</summary>
    public const string Fact = "phone";

    /// <summary>The drawer of a number under a key.</summary>
    public static int DrawerOf(string number, byte[] key) =>
        (int)(BinaryPrimitives.ReadUInt32BigEndian(HMACSHA256.HashData(key, Encoding.ASCII.GetBytes(number))) % Drawers);

    /// <summary>Puts the sealed numbers among a household's facts into their drawers.</summary>
    public async Task PutAsync(IEnumerable<(string Digest, string Value)> numbers, HouseholdKeys keys, CancellationToken stop)
    {
        foreach (var (digest, value) in numbers)
        {
            if (TelephoneNumber.Of(value) is not { } number) { continue; }
            await using var command = vault.CreateCommand("insert into vault.telephones (digest, drawer) values ($1, $2) on conflict do nothing");
            command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = digest });
            command.Parameters.Add(new NpgsqlParameter<int> { TypedValue = DrawerOf(number, keys.FindOrMakeForTelephones()) });
            await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        }
    }

    /// <summary>The households that have, or had, a number, each with the digest of the fact that says so.</summary>
    public async Task<IReadOnlyList<(string Household, string Digest)>> FindAsync(string number, HouseholdKeys keys, CancellationToken stop)
    {
        var found = new List<(string Household, string Digest)>();
        await using var command = vault.CreateCommand(
            "select f.digest, f.household, f.sealed from vault.telephones t join vault.facts f using (digest) where t.drawer = $1 order by f.household, f.digest");
        command.Parameters.Add(new NpgsqlParameter<int> { TypedValue = DrawerOf(number, keys.FindOrMakeForTelephones()) });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var (digest, household) = (reader.GetString(0), reader.GetString(1));
            if (keys.Find(household) is { } key && SealedFact.Open(reader.GetFieldValue<byte[]>(2), digest, key) is { } fact
                && fact.Name == Fact && TelephoneNumber.Of(fact.Value) == number)
            {
                found.Add((household, digest));
            }
        }

        return found;
    }
}

/// <summary>The step that gives the vault its drawers of telephone numbers. What was told before is found after it is told again.</summary>
internal sealed class TelephoneUpgrade : IUpgradeStep
{
    private const string Sql = """
        create table vault.telephones (
            digest text collate "C" primary key references vault.facts on delete cascade,
            drawer int not null);
        create index telephones_drawer on vault.telephones (drawer);
        """;

    public async Task TakeAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(Sql, connection);
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
