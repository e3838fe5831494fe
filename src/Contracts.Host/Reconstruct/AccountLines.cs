using System.Buffers;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.Json;
using Contracts.Disclosures;
using Contracts.Host.Terminal;
using Contracts.Store;

namespace Contracts.Host.Reconstruct;

/// <summary>Every account of a view as bytes, piece by piece and ordered by id, so that memory stays flat wherever they go.</summary>
internal static class AccountLines
{
    /// <summary>The pieces; together they are the whole answer, the head of a CSV and the brackets of a list included.</summary>
    public static async IAsyncEnumerable<ReadOnlyMemory<byte>> AllAsync(
        ContractsStore store, AccountSieve sieve, OutputFormat format, [EnumeratorCancellation] CancellationToken stop)
    {
        var csv = format is OutputFormat.Csv or OutputFormat.Table;
        var inList = format == OutputFormat.Json;
        if (csv) { yield return Encoding.UTF8.GetBytes(AccountCsv.Header + "\n"); }
        if (inList) { yield return "["u8.ToArray(); }
        var first = true;
        var lines = store.Reader.MapHistoriesAsync(sieve.Reads, history => Line(sieve.Of(history), csv), stop);
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

    private static byte[]? Line(Account? account, bool csv)
    {
        if (account is null) { return null; }
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
