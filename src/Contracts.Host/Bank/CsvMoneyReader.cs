using Contracts.Agreements;
using Contracts.Bank;

namespace Contracts.Host.Bank;

/// <summary>
/// Reads a CSV file by its mapping, line by line. Where nothing in the file stands for its completeness a bad line is named and left out; where a
/// running balance does, a bad line makes the whole unusable, because the rest could not be held against it.
/// </summary>
internal sealed class CsvMoneyReader(Stream stream, string digest, CsvMapping mapping, NamesTwice names) : IDisposable
{
    private readonly CsvTable table = new(stream, new CsvForm(mapping.Delimiter, mapping.Date, mapping.Decimal, mapping.Columns, mapping.Texts));
    private readonly StatementTotal total = new();
    private Money? balance;
    private long number;

    /// <summary>Everything in the file, in its order.</summary>
    public IEnumerable<FileItem> Read()
    {
        table.Begin();
        yield return new FileItem.Begins(mapping.Name, mapping.Account, total);
        while (table.Next())
        {
            var item = One();
            if (item is FileItem.Bad { Refusal: var bad } && mapping.Columns.ContainsKey("balance")) { throw new MoneyFileException(bad); }
            yield return item;
        }
    }

    public void Dispose() => table.Dispose();

    private FileItem One()
    {
        try
        {
            table.RequireWhole();
            return new FileItem.Line(Entry(table.Line));
        }
        catch (MoneyFileException fault) when (fault.Refusal.Code == RefusalCode.MoneyFileUnreadable)
        {
            return new FileItem.Bad(fault.Refusal);
        }
    }

    private BankEntry Entry(long line)
    {
        number++;
        if (table.Cell("currency") is { Length: > 0 } currency && currency != "USD") { throw MoneyFileException.Currency(line, mapping.Columns["currency"], currency); }
        var signed = Signed(line);
        var reference = table.Cell("reference") is { Length: > 0 } given ? given : null;
        var bookedOn = table.Day("bookedOn");
        var id = reference is null ? BankEntry.IdIn(digest, number) : BankEntry.IdOf(mapping.Account, reference, bookedOn, signed);
        var known = reference is not null && names.IsFirst(Convert.ToUInt64(id[2..18], 16));
        var entry = new BankEntry
        {
            Id = known || reference is null ? id : BankEntry.IdIn(digest, number), Reference = reference, IsRecognisable = known,
            Account = mapping.Account.Length > 4 ? mapping.Account[^4..] : mapping.Account,
            BookedOn = bookedOn, ValueOn = mapping.Columns.ContainsKey("valueOn") && table.Cell("valueOn").Length > 0 ? table.Day("valueOn") : null,
            Amount = signed < Money.Zero ? Money.Zero - signed : signed, IsCredit = signed >= Money.Zero, Method = mapping.Method,
            EndToEnd = table.Cell("endToEnd") is { Length: > 0 } e ? e : null, ReturnCode = table.Cell("returnCode") is { Length: > 0 } r ? r : null,
            Text = string.Join(" / ", mapping.Texts.Select(table.Under).Where(word => word.Length > 0)),
            Gross = table.Optional("gross"), Fee = table.Optional("fee"), Place = $"line {line}",
        };
        if (entry is { Gross: { } gross, Fee: { } fee } && gross - fee != signed)
        {
            throw MoneyFileException.At(line, mapping.Columns["gross"], $"{gross} less the fee {fee} is {gross - fee}, and {signed} arrived.");
        }

        Hold(line, signed);
        total.Add(entry.Amount, entry.IsCredit);
        return entry;
    }

    /// <summary>Each line's balance is the one before with its amount; the first gives the opening balance.</summary>
    private void Hold(long line, Money signed)
    {
        if (!mapping.Columns.ContainsKey("balance")) { return; }
        var after = table.Amount("balance");
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

    private Money Signed(long line)
    {
        if (mapping.Columns.ContainsKey("amount"))
        {
            var amount = table.Amount("amount");
            return mapping.MinusIsIn ? Money.Zero - amount : amount;
        }

        var (credit, debit) = (table.Optional("credit"), table.Optional("debit"));
        if (credit is null == debit is null) { throw MoneyFileException.At(line, mapping.Columns["credit"], "one of the two columns has an amount, and one only."); }
        var one = credit ?? debit!.Value;
        if (one < Money.Zero) { throw MoneyFileException.At(line, mapping.Columns[credit is null ? "debit" : "credit"], "an amount in a column of its own has no sign."); }
        return credit ?? Money.Zero - debit!.Value;
    }
}
