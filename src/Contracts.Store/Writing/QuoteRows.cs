using Contracts.Agreements;
using Contracts.Store.Json;
using Contracts.Store.Quotes;
using Npgsql;

namespace Contracts.Store.Writing;

/// <summary>Reads the quotes that a batch names, inside its transaction.</summary>
internal static class QuoteRows
{
    private const string Named = "select e.data from contracts.mt_events e where e.stream_id = any($1)";

    /// <summary>Adds those of the names that have been given.</summary>
    public static async Task ReadAsync(
        NpgsqlConnection connection, NpgsqlTransaction transaction, string[] names, Dictionary<string, GivenQuote> into, CancellationToken stop)
    {
        if (names.Length == 0) { return; }
        await using var command = new NpgsqlCommand(Named, connection, transaction)
        {
            Parameters = { new NpgsqlParameter<string[]> { TypedValue = [.. names.Select(QuoteGiven.StreamOf)] } },
        };
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var given = ((QuoteGiven)EventJson.Read("quote_given"u8, reader.GetFieldValue<byte[]>(0))).ToGiven();
            into[given.Id] = given;
        }
    }
}
