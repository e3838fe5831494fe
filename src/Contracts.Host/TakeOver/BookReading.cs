using System.Security.Cryptography;
using Contracts.Agreements;
using Contracts.Store.TakeOver;
using Contracts.TakeOver;

namespace Contracts.Host.TakeOver;

/// <summary>A book read from its files, or what is wrong with them.</summary>
/// <param name="Shape">The book's name and digest.</param>
/// <param name="Totals">What the shop says it comes to.</param>
/// <param name="Book">The book; null where a line cannot be used.</param>
/// <param name="Faults">Every line that cannot be used.</param>
public sealed record BookReading(BookShape Shape, ControlTotals Totals, OldBook? Book, IReadOnlyList<BookFault> Faults)
{
    /// <summary>Reads a book; the refusal is of mapping or totals as a whole.</summary>
    /// <param name="contracts">The file of contracts.</param>
    /// <param name="payments">The file of payments, or null.</param>
    /// <param name="mapping">The mapping.</param>
    /// <param name="totals">The control totals.</param>
    /// <param name="by">Who takes it over.</param>
    public static (BookReading? Reading, Refusal? Refusal) Read(byte[] contracts, byte[]? payments, byte[] mapping, byte[] totals, string by)
    {
        var (map, unfit) = BookMapping.Read(mapping);
        if (map is null) { return (null, unfit); }
        var (control, wrong) = ControlTotals.Read(totals);
        if (control is null) { return (null, wrong); }
        if (payments is null != map.Payments is null)
        {
            return (null, new Refusal(RefusalCode.BookMappingInvalid, "A file of payments and a mapping of it go together; one of them is missing.", "payments"));
        }

        var digest = Convert.ToHexStringLower(SHA256.HashData([.. SHA256.HashData(contracts), .. SHA256.HashData(payments ?? []), .. SHA256.HashData(mapping)]))[..16];
        var shape = new BookShape(map.Book, digest, by, map.EarlyPurchase);
        if (Math.Max(contracts.Length, payments?.Length ?? 0) > BookFile.MostBytes) { return (null, TooLong()); }
        var (signed, faults) = BookFile.Read(contracts, false, map);
        var (paid, more) = payments is null ? ([], []) : BookFile.Read(payments, true, map);
        if (faults.Count + more.Count > 0) { return (new BookReading(shape, control, null, [.. faults, .. more]), null); }
        if (signed.Count + paid.Count > BookIntake.MostLines) { return (null, TooLong()); }
        var (book, unusable) = OldBook.Read(shape, signed, paid, control.AsOf);
        return (new BookReading(shape, control, book, unusable), null);
    }

    private static Refusal TooLong() => new(
        RefusalCode.BookUnreadable,
        $"A book has at most {BookIntake.MostLines} lines and {BookFile.MostBytes >> 20} MB a file; take it over in parts, each a book of its own.", "file");
}
