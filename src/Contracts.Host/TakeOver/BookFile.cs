using System.Buffers;
using System.Globalization;
using System.Text;
using Contracts.Agreements;
using Contracts.Host.Bank;
using Contracts.TakeOver;
using NodaTime.Text;

namespace Contracts.Host.TakeOver;

/// <summary>Reads a CSV file of a book into lines, or names every cell that cannot be read.</summary>
internal static class BookFile
{
    /// <summary>More bytes than this are no shop's book.</summary>
    public const int MostBytes = 128 << 20;

    /// <summary>Reads a file.</summary>
    /// <param name="bytes">The file.</param>
    /// <param name="isPayments">Whether it is the file of payments.</param>
    /// <param name="mapping">How it is written.</param>
    public static (IReadOnlyList<BookRow> Rows, IReadOnlyList<BookFault> Faults) Read(byte[] bytes, bool isPayments, BookMapping mapping)
    {
        var (part, known) = isPayments ? (mapping.Payments!, BookColumn.OfPayments) : (mapping.Contracts, BookColumn.OfContracts);
        if (WrongBytes(bytes, isPayments, mapping.Delimiter) is { } encoding) { return ([], [encoding]); }
        var columns = known.Where(column => part.Columns.ContainsKey(column.Name)).ToList();
        var form = new CsvForm(
            mapping.Delimiter, mapping.Date, mapping.Decimal, part.Columns.Concat(part.Figures.Select(one => KeyValuePair.Create($"figure {one.Key}", one.Value)))
                .ToDictionary(one => one.Key, one => one.Value, StringComparer.Ordinal), []);
        var (rows, faults) = (new List<BookRow>(), new List<BookFault>());
        var headers = part.Columns.Concat(part.Figures).ToDictionary(one => one.Key, one => one.Value, StringComparer.Ordinal);
        try
        {
            using var table = new CsvTable(new MemoryStream(bytes, writable: false), form);
            table.Begin();
            while (table.Next())
            {
                var before = faults.Count;
                var row = Row(table, isPayments, columns, part, headers, mapping, faults);
                if (faults.Count == before) { rows.Add(row!); }
            }

            if (rows.Count == 0 && faults.Count == 0 && !isPayments)
            {
                faults.Add(new BookFault(false, 1, null, new Refusal(RefusalCode.BookUnreadable, "the file has no contracts.", "header")));
            }
        }
        catch (MoneyFileException fault)
        {
            // The lines after it cannot be told apart any more.
            faults.Add(Fault(fault, isPayments));
        }

        return (rows, faults);
    }

    private static BookRow? Row(
        CsvTable table, bool isPayments, List<BookColumn> columns, BookPart part, Dictionary<string, string> headers, BookMapping mapping, List<BookFault> faults)
    {
        if (!Try(table.RequireWhole, isPayments, faults)) { return null; }
        var values = new Dictionary<string, string>(part.Always, StringComparer.Ordinal);
        foreach (var column in columns)
        {
            if (table.Raw(column.Name).Length > 0) { Try(() => values[column.Name] = Value(table, column, mapping), isPayments, faults); }
        }

        Dictionary<string, Money>? figures = null;
        foreach (var path in part.Figures.Keys)
        {
            Try(
                () =>
                {
                    if (table.Optional($"figure {path}") is { } figure) { (figures ??= new(StringComparer.Ordinal))[path] = figure; }
                }, isPayments, faults);
        }

        return new BookRow(isPayments, table.Line, values, headers, figures);
    }

    private static string Value(CsvTable table, BookColumn column, BookMapping mapping)
    {
        switch (column.Form)
        {
            case BookForm.Day: return LocalDatePattern.Iso.Format(table.Day(column.Name));
            case BookForm.Amount: return table.Amount(column.Name).ToString();
            case BookForm.Share:
                var share = table.Cell(column.Name);
                return share.Contains(mapping.Decimal == '.' ? ',' : '.', StringComparison.Ordinal) ? throw Wrong(table, column, mapping, $"'{share}' is not a decimal.")
                    : share.Replace(mapping.Decimal, '.');
            case BookForm.Number:
                var number = table.Cell(column.Name);
                return int.TryParse(number, NumberStyles.None, CultureInfo.InvariantCulture, out var whole) ? whole.ToString(CultureInfo.InvariantCulture)
                    : throw Wrong(table, column, mapping, $"'{number}' is not a whole number.");
            case BookForm.Flag:
                var word = table.Cell(column.Name);
                return word == mapping.Yes ? "true" : word == mapping.No ? "false"
                    : throw Wrong(table, column, mapping, $"'{word}' is neither '{mapping.Yes}' nor '{mapping.No}'.");
            default: return table.Cell(column.Name);
        }
    }

    private static MoneyFileException Wrong(CsvTable table, BookColumn column, BookMapping mapping, string why) => MoneyFileException.At(
        table.Line, (BookColumn.OfContracts.Contains(column) ? mapping.Contracts : mapping.Payments!).Columns[column.Name], why);

    private static bool Try(Action read, bool isPayments, List<BookFault> faults)
    {
        try
        {
            read();
            return true;
        }
        catch (MoneyFileException fault)
        {
            faults.Add(Fault(fault, isPayments));
            return false;
        }
    }

    private static BookFault Fault(MoneyFileException fault, bool isPayments) => new(
        isPayments, fault.Line, fault.Refusal.Field, fault.Refusal with { Code = RefusalCode.BookUnreadable, Detail = fault.Why });

    /// <summary>The first byte that is none of UTF-8, with its line and column, or null: a spreadsheet that saved in another encoding would leave wrong names for ever.</summary>
    private static BookFault? WrongBytes(ReadOnlySpan<byte> bytes, bool isPayments, char delimiter)
    {
        var at = 0;
        while (at < bytes.Length)
        {
            if (bytes[at] != 0 && Rune.DecodeFromUtf8(bytes[at..], out _, out var length) == OperationStatus.Done)
            {
                at += length;
                continue;
            }

            var before = bytes[..at];
            var start = before.LastIndexOf((byte)'\n') + 1;
            var column = before[start..].Count((byte)delimiter);
            var header = Encoding.UTF8.GetString(bytes[..(bytes.IndexOf((byte)'\n') is >= 0 and var end ? end : bytes.Length)]).Trim('\uFEFF', '\r').Split(delimiter);
            var name = start > 0 && column < header.Length ? header[column].Trim('"') : null;
            return new BookFault(isPayments, before.Count((byte)'\n') + 1, name, new Refusal(
                RefusalCode.BookUnreadable, $"byte {bytes[at]:x2}, the {at - start + 1}. of the line, is none of UTF-8 text; save the file as CSV in UTF-8.", "encoding"));
        }

        return null;
    }
}
