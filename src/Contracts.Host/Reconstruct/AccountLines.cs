using System.Buffers;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.Json;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Host.Reconstruct;

/// <summary>Every account of a view as bytes, piece by piece and ordered by id, so that memory stays flat wherever they go.</summary>
public static class AccountLines
{
    /// <summary>The pieces; together they are the whole answer, the head of a CSV and the brackets of a list included.</summary>
    public static async IAsyncEnumerable<ReadOnlyMemory<byte>> AllAsync(
        ContractsStore store, LocalDate on, KnownAt known, OutputFormat format, [EnumeratorCancellation] CancellationToken stop)
    {
        var rates = await store.Reader.RatesAsync(known, stop).ConfigureAwait(false);
        var csv = format is OutputFormat.Csv or OutputFormat.Table;
        var inList = format == OutputFormat.Json;
        if (csv) { yield return Encoding.UTF8.GetBytes(AccountCsv.Header + "\n"); }
        if (inList) { yield return "["u8.ToArray(); }
        var first = true;
        var lines = store.Reader.MapHistoriesAsync(known, history => Line(history, rates, on, known.At, csv), stop);
        await foreach (var line in lines.ConfigureAwait(false))
        {
            if (line is null) { continue; }
            if (inList && !first) { yield return Comma; }
            first = false;
            yield return line;
        }

        if (inList) { yield return "]\n"u8.ToArray(); }
    }

    /// <summary>Some accounts as one list, the same bytes as the whole list has for them.</summary>
    public static byte[] Some(IEnumerable<Account> accounts)
    {
        var buffer = new ArrayBufferWriter<byte>();
        buffer.Write("["u8);
        var first = true;
        foreach (var account in accounts)
        {
            if (!first) { buffer.Write(","u8); }
            first = false;
            Write(buffer, account);
        }

        buffer.Write("]\n"u8);
        return buffer.WrittenSpan.ToArray();
    }

    private static readonly byte[] Comma = [(byte)','];

    private static byte[]? Line(ContractHistory history, ReferenceData rates, LocalDate on, Instant known, bool csv)
    {
        if (AccountFold.At(history, rates, on) is not { } state) { return null; }
        var account = Account.Of(state, known);
        if (csv) { return Encoding.UTF8.GetBytes(AccountCsv.Row(account) + "\n"); }
        var buffer = new ArrayBufferWriter<byte>(1536);
        Write(buffer, account);
        return buffer.WrittenSpan.ToArray();
    }

    private static void Write(ArrayBufferWriter<byte> buffer, Account account)
    {
        using (var json = new Utf8JsonWriter(buffer, AccountPrinter.Plainly)) { AccountJson.Write(json, account); }
        buffer.Write("\n"u8);
    }
}
