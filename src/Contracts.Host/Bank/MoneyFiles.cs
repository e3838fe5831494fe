using System.Collections.Immutable;
using System.Security.Cryptography;
using System.Xml;
using System.Xml.Schema;
using Contracts.Agreements;
using Contracts.Bank;
using Contracts.Store;
using Contracts.Store.Bank;

namespace Contracts.Host.Bank;

/// <summary>A file to be read.</summary>
/// <param name="Path">Where it lies.</param>
/// <param name="Name">What it is called in answers and in the history.</param>
/// <param name="Mapping">The mapping of a CSV file, or null for a camt message.</param>
/// <param name="Schema">The schema a camt message is held against, or null.</param>
public sealed record MoneyFile(string Path, string Name, CsvMapping? Mapping, XmlSchemaSet? Schema = null);

/// <summary>What became of a file.</summary>
/// <param name="File">What was recorded of it, or null where it was refused.</param>
/// <param name="Count">What became of its lines.</param>
/// <param name="Bad">Lines that could not be used, the first hundred of them; the others went on.</param>
/// <param name="BadCount">How many there were.</param>
/// <param name="NotBooked">How many lines the bank has not booked yet.</param>
/// <param name="Refusal">Why none of it was used, or null.</param>
public sealed record MoneyFileOutcome(MoneyFileReceived? File, IntakeCount Count, IReadOnlyList<Refusal> Bad, long BadCount, long NotBooked, Refusal? Refusal);

/// <summary>A file that adds up.</summary>
/// <param name="File">What is recorded of it.</param>
/// <param name="Bad">Lines that cannot be used, the first hundred of them.</param>
/// <param name="BadCount">How many there are.</param>
/// <param name="NotBooked">How many lines the bank has not booked yet.</param>
public sealed record CheckedFile(MoneyFileReceived File, IReadOnlyList<Refusal> Bad, long BadCount, long NotBooked);

/// <summary>
/// Takes a money file in: it is read once to hold it against its own totals, and only then again to match and post its lines, so that a file that
/// does not add up leaves no trace. Memory does not grow with the file: names that stand twice are found by both readings (<see cref="NamesTwice"/>).
/// </summary>
public static class MoneyFiles
{
    private const int BatchSize = 2000;

    /// <summary>More bad lines than this are counted and not listed.</summary>
    public const int MostListed = 100;

    /// <summary>Reads the file, holds it against itself, matches its lines and records what they are about.</summary>
    /// <param name="store">The store.</param>
    /// <param name="file">The file.</param>
    /// <param name="by">Who sends it.</param>
    /// <param name="progress">Told how many lines each batch had.</param>
    /// <param name="stop">Gives up between two batches; reading the file again goes on.</param>
    public static async Task<MoneyFileOutcome> TakeAsync(ContractsStore store, MoneyFile file, string by, Action<int>? progress, CancellationToken stop)
    {
        try
        {
            var names = new NamesTwice();
            var (received, bad, badCount, notBooked) = await Task.Run(() => Check(file, names), stop).ConfigureAwait(false);
            var book = await store.Bank.ReadShopAsync(stop).ConfigureAwait(false);
            var count = await TakeAsync(store, file, received, names, book, by, progress, stop).ConfigureAwait(false);
            return new MoneyFileOutcome(received, count, bad, badCount, notBooked, null);
        }
        catch (MoneyFileException fault)
        {
            return new MoneyFileOutcome(null, new IntakeCount(0, 0, 0, 0), [], 0, 0, fault.Refusal);
        }
    }

    /// <summary>Records batch after batch; while one is written the next is read and matched.</summary>
    private static async Task<IntakeCount> TakeAsync(
        ContractsStore store, MoneyFile file, MoneyFileReceived received, NamesTwice names, ShopBook book, string by, Action<int>? progress, CancellationToken stop)
    {
        var count = new IntakeCount(0, 0, 0, 0);
        // A file without a line is recorded as well: that it came is a fact.
        using var batches = Lines(file, received.File, names).Chunk(BatchSize).DefaultIfEmpty([])
            .Select(batch => Array.ConvertAll(batch, entry => Find(entry, book))).GetEnumerator();
        var next = Task.Run(Next, CancellationToken.None);
        try
        {
            while (await next.ConfigureAwait(false) is { } batch)
            {
                next = Task.Run(Next, CancellationToken.None);
                count += await store.BankIntake.TakeAsync(received, batch, by, stop).ConfigureAwait(false);
                progress?.Invoke(batch.Length);
            }
        }
        finally
        {
            // Whatever became of a batch, nobody reads on in the file behind its back when it is closed.
            await ((Task)next).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }

        return count;

        FoundLine[]? Next() => batches.MoveNext() ? batches.Current : null;
    }

    /// <summary>Reads a file through and holds it against its own totals.</summary>
    /// <exception cref="MoneyFileException">None of it can be used.</exception>
    public static CheckedFile Check(MoneyFile file) => Check(file, new NamesTwice());

    private static CheckedFile Check(MoneyFile file, NamesTwice names)
    {
        var digest = Digest(file.Path);
        var (begins, bad, badCount, notBooked, form) = (new List<FileItem.Begins>(), new List<Refusal>(), 0L, 0L, "");
        foreach (var (item, of) in Items(file, digest, names))
        {
            form = of;
            switch (item)
            {
                case FileItem.Begins begin: begins.Add(begin); break;
                case FileItem.NotBooked: notBooked++; break;
                case FileItem.Bad one:
                    badCount++;
                    if (bad.Count < MostListed) { bad.Add(one.Refusal); }
                    break;
                default: break;
            }
        }

        foreach (var one in begins)
        {
            if (one.Total.Fault(one.Name) is { } fault) { throw new MoneyFileException(fault); }
        }

        names.ReadAgain();
        return new CheckedFile(new MoneyFileReceived(digest, file.Name, form, [.. begins.Select(Counted)]), bad, badCount, notBooked);
    }

    /// <summary>A schema from files, such as those that iso20022.org publishes.</summary>
    /// <exception cref="MoneyFileException">One of them is no schema.</exception>
    public static XmlSchemaSet? Schema(IReadOnlyList<string> paths)
    {
        if (paths.Count == 0) { return null; }
        var set = new XmlSchemaSet { XmlResolver = null };
        foreach (var path in paths)
        {
            try
            {
                using var reader = XmlReader.Create(path, new XmlReaderSettings { DtdProcessing = DtdProcessing.Prohibit, XmlResolver = null });
                set.Add(null, reader);
            }
            catch (Exception fault) when (fault is XmlException or XmlSchemaException)
            {
                throw MoneyFileException.At(0, "schema", $"{path} is no schema: {fault.Message}");
            }
        }

        set.Compile();
        return set;
    }

    /// <summary>The lines of a file, one after another, as they would be matched. The file is read twice.</summary>
    /// <param name="file">The file.</param>
    /// <param name="digest">Its SHA-256; lines without the bank's reference have their names from it.</param>
    /// <exception cref="MoneyFileException">The file cannot be used.</exception>
    public static IEnumerable<BankEntry> Lines(MoneyFile file, string digest)
    {
        var names = new NamesTwice();
        Check(file, names);
        return Lines(file, digest, names);
    }

    private static IEnumerable<BankEntry> Lines(MoneyFile file, string digest, NamesTwice names) =>
        Items(file, digest, names).Select(one => one.Item).OfType<FileItem.Line>().Select(one => one.Entry);

    private static IEnumerable<(FileItem Item, string Form)> Items(MoneyFile file, string digest, NamesTwice names)
    {
        if (file.Mapping is { } mapping)
        {
            using var csv = new CsvMoneyReader(File.OpenRead(file.Path), digest, mapping, names);
            foreach (var item in csv.Read()) { yield return (item, $"csv {mapping.Name}"); }
            yield break;
        }

        if (!LooksLikeXml(file.Path)) { throw new MoneyFileException(new Refusal(RefusalCode.MoneyMappingInvalid, "The file is no XML; a CSV file needs a mapping.", "mapping")); }
        using var camt = new CamtReader(File.OpenRead(file.Path), digest, names, file.Schema);
        foreach (var item in camt.Read()) { yield return (item, camt.Form); }
    }

    private static FoundLine Find(BankEntry entry, ShopBook book)
    {
        var found = Matching.Find(entry, book);
        book.Took(entry, found);
        return new FoundLine(entry, found);
    }

    private static StatementCounted Counted(FileItem.Begins one) => new(
        one.Name, one.Account.Length > 4 ? one.Account[^4..] : one.Account, one.Total.Opening, one.Total.Closing, one.Total.Lines, one.Total.Credits, one.Total.Debits);

    private static bool LooksLikeXml(string path)
    {
        using var stream = File.OpenRead(path);
        Span<byte> head = stackalloc byte[64];
        var text = head[..stream.ReadAtLeast(head, head.Length, throwOnEndOfStream: false)];
        if (text.StartsWith("\uFEFF"u8)) { text = text[3..]; }
        // Any text in two bytes a character goes to the reader, which says what is wrong with it.
        return text.TrimStart(" \t\r\n"u8) is [(byte)'<' or 0xFE or 0xFF, ..];
    }

    private static string Digest(string path)
    {
        using var stream = File.OpenRead(path);
        return Convert.ToHexStringLower(SHA256.HashData(stream));
    }
}
