using System.Globalization;
using Contracts.Agreements;
using Contracts.Bank;
using CsvHelper;
using CsvHelper.Configuration;
using NodaTime;

namespace Contracts.Host.Bank;

/// <summary>
/// Reads a CSV file by its mapping, line by line. Where nothing in the file stands for its completeness a bad line is named and left out; where a
/// running balance does, a bad line makes the whole unusable, because the rest could not be held against it.
/// </summary>
internal sealed class CsvMoneyReader(Stream stream, string digest, CsvMapping mapping) : IDisposable
{
    private const int LongestLine = 64 * 1024;

    private readonly LimitedText text = new(stream, LongestLine * 4);
    private readonly HashSet<ulong> seen = [];
    private readonly StatementTotal total = new();
    private Money? balance;
    private long number;

    /// <summary>Everything in the file, in its order.</summary>
    public IEnumerable<FileItem> Read()
    {
        using var csv = new CsvReader(text, new CsvConfiguration(CultureInfo.InvariantCulture)
        {
            Delimiter = mapping.Delimiter.ToString(), DetectDelimiter = false, MissingFieldFound = null, MaxFieldSize = LongestLine, DetectColumnCountChanges = false,
            BadDataFound = bad => throw MoneyFileException.At(bad.Context.Parser?.RawRow ?? 0, "quotes", "a quote stands where none may stand.", "RFC 4180"),
        });
        if (!Guarded(csv.Read)) { throw MoneyFileException.At(1, "header", "the file is empty."); }
        csv.ReadHeader();
        var header = csv.HeaderRecord!;
        foreach (var name in mapping.Columns.Values.Concat(mapping.Texts))
        {
            var found = header.Count(one => one == name);
            if (found != 1) { throw MoneyFileException.At(1, name, $"the header has {found} columns of that name; the mapping needs one."); }
        }

        yield return new FileItem.Begins(mapping.Name, mapping.Account, total);
        text.Reset();
        while (Guarded(csv.Read))
        {
            text.Reset();
            if (csv.Parser.Count == 1 && string.IsNullOrWhiteSpace(csv[0])) { continue; }
            var item = One(csv, header.Length);
            if (item is FileItem.Bad { Refusal: var bad } && mapping.Columns.ContainsKey("balance")) { throw new MoneyFileException(bad); }
            yield return item;
        }
    }

    public void Dispose() => text.Dispose();

    private FileItem One(CsvReader csv, int columns)
    {
        var line = (long)csv.Parser.RawRow;
        try
        {
            return csv.Parser.Count == columns
                ? new FileItem.Line(Entry(csv, line))
                : throw MoneyFileException.At(line, "line", $"it has {csv.Parser.Count} fields and the header {columns}.", "RFC 4180");
        }
        catch (MoneyFileException fault) when (fault.Refusal.Code == RefusalCode.MoneyFileUnreadable)
        {
            return new FileItem.Bad(fault.Refusal);
        }
    }

    private BankEntry Entry(CsvReader csv, long line)
    {
        number++;
        if (Cell(csv, "currency", line) is { Length: > 0 } currency && currency != "USD") { throw MoneyFileException.Currency(line, mapping.Columns["currency"], currency); }
        var signed = Signed(csv, line);
        var reference = Cell(csv, "reference", line) is { Length: > 0 } given ? given : null;
        var bookedOn = Day(csv, "bookedOn", line);
        var id = reference is null ? BankEntry.IdIn(digest, number) : BankEntry.IdOf(mapping.Account, reference, bookedOn, signed);
        var known = reference is not null && seen.Add(Convert.ToUInt64(id[2..18], 16));
        var entry = new BankEntry
        {
            Id = known || reference is null ? id : BankEntry.IdIn(digest, number), Reference = reference, IsRecognisable = known,
            Account = mapping.Account.Length > 4 ? mapping.Account[^4..] : mapping.Account,
            BookedOn = bookedOn, ValueOn = mapping.Columns.ContainsKey("valueOn") && Cell(csv, "valueOn", line).Length > 0 ? Day(csv, "valueOn", line) : null,
            Amount = signed < Money.Zero ? Money.Zero - signed : signed, IsCredit = signed >= Money.Zero, Method = mapping.Method,
            EndToEnd = Cell(csv, "endToEnd", line) is { Length: > 0 } e ? e : null, ReturnCode = Cell(csv, "returnCode", line) is { Length: > 0 } r ? r : null,
            Text = string.Join(" / ", mapping.Texts.Select(name => Words(csv[name] ?? "", name, line)).Where(word => word.Length > 0)),
            Gross = Optional(csv, "gross", line), Fee = Optional(csv, "fee", line), Place = $"line {line}",
        };
        if (entry is { Gross: { } gross, Fee: { } fee } && gross - fee != signed)
        {
            throw MoneyFileException.At(line, mapping.Columns["gross"], $"{gross} less the fee {fee} is {gross - fee}, and {signed} arrived.");
        }

        Hold(csv, line, signed);
        total.Add(entry.Amount, entry.IsCredit);
        return entry;
    }

    /// <summary>Each line's balance is the one before with its amount; the first gives the opening balance.</summary>
    private void Hold(CsvReader csv, long line, Money signed)
    {
        if (!mapping.Columns.ContainsKey("balance")) { return; }
        var after = Amount(csv, "balance", line);
        if (balance is { } before && before + signed != after)
        {
            throw new MoneyFileException(new Refusal(
                RefusalCode.MoneyFileDoesNotAddUp, $"Line {line}, {mapping.Columns["balance"]}: {before} and {signed} make {before + signed}, not {after}."
                + " No line of the file was used.",
                mapping.Columns["balance"], (before + signed).ToString()));
        }

        total.Opening ??= after - signed;
        total.Closing = balance = after;
    }

    private Money Signed(CsvReader csv, long line)
    {
        if (mapping.Columns.ContainsKey("amount"))
        {
            var amount = Amount(csv, "amount", line);
            return mapping.MinusIsIn ? Money.Zero - amount : amount;
        }

        var (credit, debit) = (Optional(csv, "credit", line), Optional(csv, "debit", line));
        if (credit is null == debit is null) { throw MoneyFileException.At(line, mapping.Columns["credit"], "one of the two columns has an amount, and one only."); }
        var one = credit ?? debit!.Value;
        if (one < Money.Zero) { throw MoneyFileException.At(line, mapping.Columns[credit is null ? "debit" : "credit"], "an amount in a column of its own has no sign."); }
        return credit ?? Money.Zero - debit!.Value;
    }

    private Money? Optional(CsvReader csv, string column, long line) =>
        mapping.Columns.TryGetValue(column, out var name) && (csv[name] ?? "").Trim().Length > 0 ? Amount(csv, column, line) : null;

    private Money Amount(CsvReader csv, string column, long line)
    {
        var name = mapping.Columns[column];
        var given = (csv[name] ?? "").Trim();
        var other = mapping.Decimal == '.' ? ',' : '.';
        return !given.Contains(other, StringComparison.Ordinal) && !given.StartsWith('+') && Money.TryParse(given.Replace(mapping.Decimal, '.'), out var money)
            ? money
            : throw MoneyFileException.At(line, name, $"'{Shown(given)}' is not dollars and whole cents with '{mapping.Decimal}' before the cents.",
                "ISO 4217: two decimals of the US dollar");
    }

    private LocalDate Day(CsvReader csv, string column, long line)
    {
        var name = mapping.Columns[column];
        var given = (csv[name] ?? "").Trim();
        var parsed = mapping.Date.Parse(given);
        if (parsed.Success && parsed.Value.Year is >= 1990 and <= 2200) { return parsed.Value; }
        throw MoneyFileException.At(
            line, name, given.Length < mapping.Date.PatternText.Length ? $"'{Shown(given)}' is shorter than {mapping.Date.PatternText}; a year has four digits."
                : $"'{Shown(given)}' is not a day written as {mapping.Date.PatternText}.");
    }

    private string Cell(CsvReader csv, string column, long line) => mapping.Columns.TryGetValue(column, out var name) ? Words(csv[name] ?? "", name, line) : "";

    /// <summary>A text that a spreadsheet would run as a formula is refused, not cleaned: it is no text that a bank writes.</summary>
    private static string Words(string cell, string name, long line)
    {
        cell = cell.Trim();
        if (cell.Length > 500) { throw MoneyFileException.At(line, name, "a text has at most 500 characters."); }
        if (cell.Any(char.IsControl)) { throw MoneyFileException.At(line, name, "there is a control character in the text."); }
        return cell.Length > 0 && cell[0] is '=' or '+' or '-' or '@'
            ? throw MoneyFileException.At(line, name, $"a text that begins with {cell[0]} is a formula to a spreadsheet.") : cell;
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
