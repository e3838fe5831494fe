using System.Globalization;
using CsvHelper;
using CsvHelper.Configuration;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Bank;

/// <summary>How the cells of a CSV file are written, and which of its columns are read.</summary>
/// <param name="Delimiter">What stands between two cells.</param>
/// <param name="Date">How a day is written, with a year of four digits.</param>
/// <param name="Decimal">What stands before the cents.</param>
/// <param name="Columns">The header of each column that is read, by its name in the mapping.</param>
/// <param name="Others">Headers of further columns that must be there.</param>
internal sealed record CsvForm(char Delimiter, LocalDatePattern Date, char Decimal, IReadOnlyDictionary<string, string> Columns, IReadOnlyList<string> Others);

/// <summary>
/// A CSV file as a table of cells that are read by their mapping, line by line and with memory flat whatever the file. What cannot be read is told with line
/// and column; nothing is guessed.
/// </summary>
internal sealed class CsvTable : IDisposable
{
    private const int LongestLine = 64 * 1024;

    private readonly CsvForm form;
    private readonly LimitedText text;
    private readonly CsvReader csv;
    private int columns;

    /// <summary>A table over a file.</summary>
    /// <param name="stream">The file.</param>
    /// <param name="form">How it is written.</param>
    public CsvTable(Stream stream, CsvForm form)
    {
        this.form = form;
        text = new LimitedText(stream, LongestLine * 4);
        csv = new CsvReader(text, new CsvConfiguration(CultureInfo.InvariantCulture)
        {
            Delimiter = form.Delimiter.ToString(), DetectDelimiter = false, MissingFieldFound = null, MaxFieldSize = LongestLine, DetectColumnCountChanges = false,
            BadDataFound = bad => throw MoneyFileException.At(bad.Context.Parser?.RawRow ?? 0, "quotes", "a quote stands where none may stand.", "RFC 4180"),
        });
    }

    /// <summary>The line of the file that is read now, from one.</summary>
    public long Line => csv.Parser.RawRow;

    /// <summary>Reads the header and holds it against the mapping.</summary>
    /// <exception cref="MoneyFileException">The file is empty, or a column of the mapping is missing or stands there twice.</exception>
    public void Begin()
    {
        if (!Guarded(csv.Read)) { throw MoneyFileException.At(1, "header", "the file is empty."); }
        csv.ReadHeader();
        var header = csv.HeaderRecord!;
        columns = header.Length;
        foreach (var name in form.Columns.Values.Concat(form.Others))
        {
            var found = header.Count(one => one == name);
            if (found != 1) { throw MoneyFileException.At(1, name, $"the header has {found} columns of that name; the mapping needs one."); }
        }

        text.Reset();
    }

    /// <summary>Goes to the next line that is not blank; false at the end of the file.</summary>
    public bool Next()
    {
        while (Guarded(csv.Read))
        {
            text.Reset();
            if (csv.Parser.Count != 1 || !string.IsNullOrWhiteSpace(csv[0])) { return true; }
        }

        return false;
    }

    /// <summary>A line has as many cells as the header.</summary>
    /// <exception cref="MoneyFileException">It has not.</exception>
    public void RequireWhole()
    {
        if (csv.Parser.Count != columns) { throw MoneyFileException.At(Line, "line", $"it has {csv.Parser.Count} fields and the header {columns}.", "RFC 4180"); }
    }

    /// <summary>A cell without blanks around it; empty where there is nothing, or no such column is mapped.</summary>
    public string Raw(string column) => form.Columns.TryGetValue(column, out var name) ? (csv[name] ?? "").Trim() : "";

    /// <summary>Words of a column of the mapping; empty where there are none.</summary>
    public string Cell(string column) => form.Columns.TryGetValue(column, out var name) ? Words(csv[name] ?? "", name) : "";

    /// <summary>Words of a column by its header.</summary>
    public string Under(string header) => Words(csv[header] ?? "", header);

    /// <summary>An amount, or null where the cell is empty or no such column is mapped.</summary>
    public Money? Optional(string column) => Raw(column).Length > 0 ? Amount(column) : null;

    /// <summary>An amount: dollars with no or two decimals.</summary>
    public Money Amount(string column)
    {
        var given = Raw(column);
        var other = form.Decimal == '.' ? ',' : '.';
        return !given.Contains(other, StringComparison.Ordinal) && !given.StartsWith('+') && Money.TryParse(given.Replace(form.Decimal, '.'), out var money)
            ? money
            : throw MoneyFileException.At(Line, form.Columns[column], $"'{Shown(given)}' is not dollars and whole cents with '{form.Decimal}' before the cents.",
                "ISO 4217: two decimals of the US dollar");
    }

    /// <summary>A day that exists, its year of four digits.</summary>
    public LocalDate Day(string column)
    {
        var given = Raw(column);
        var parsed = form.Date.Parse(given);
        if (parsed.Success && parsed.Value.Year is >= 1990 and <= 2200) { return parsed.Value; }
        throw MoneyFileException.At(
            Line, form.Columns[column], given.Length < form.Date.PatternText.Length ? $"'{Shown(given)}' is shorter than {form.Date.PatternText}; a year has four digits."
                : $"'{Shown(given)}' is not a day written as {form.Date.PatternText}.");
    }

    public void Dispose()
    {
        csv.Dispose();
        text.Dispose();
    }

    /// <summary>A text that a spreadsheet would run as a formula is refused, not cleaned: it is no text that a bank or a shop writes.</summary>
    private string Words(string cell, string name)
    {
        cell = cell.Trim();
        if (cell.Length > 500) { throw MoneyFileException.At(Line, name, "a text has at most 500 characters."); }
        if (cell.Any(char.IsControl)) { throw MoneyFileException.At(Line, name, "there is a control character in the text."); }
        return cell.Length > 0 && cell[0] is '=' or '+' or '-' or '@'
            ? throw MoneyFileException.At(Line, name, $"a text that begins with {cell[0]} is a formula to a spreadsheet.") : cell;
    }

    private static string Shown(string given) => given.Length > 40 ? given[..40] + "…" : given;

    private static bool Guarded(Func<bool> read)
    {
        try
        {
            return read();
        }
        catch (MaxFieldSizeException fault)
        {
            throw MoneyFileException.At(fault.Context?.Parser?.RawRow ?? 0, "line", $"a field has more than {LongestLine} characters.");
        }
        catch (CsvHelperException fault) when (fault.InnerException is MoneyFileException inner)
        {
            throw inner;
        }
    }
}
