using System.Text.RegularExpressions;
using System.Xml.Linq;
using Contracts.Bank;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Bank;

/// <summary>One entry of a camt message: a line, or several where the bank booked many payments as one and says which.</summary>
internal sealed partial class CamtEntry
{
    private readonly XElement entry;
    private readonly XNamespace space;
    private readonly long line;
    private readonly string account;
    private readonly Func<long> next;
    private readonly string digest;
    private readonly NamesTwice names;

    public CamtEntry(XElement entry, XNamespace space, long line, string account, Func<long> next, string digest, NamesTwice names)
    {
        (this.entry, this.space, this.line, this.account, this.next, this.digest, this.names) = (entry, space, line, account, next, digest, names);
        Amount = AmountOf(entry.Element(space + "Amt"), line, "Ntry/Amt");
        IsCredit = IsCreditOf(entry, space, line, "Ntry");
        var status = entry.Element(space + "Sts") ?? throw MoneyFileException.At(line, "Ntry/Sts", "an entry says whether it is booked.", "ISO 20022");
        IsBooked = (status.Element(space + "Cd")?.Value ?? status.Value).Trim() == "BOOK";
    }

    public Money Amount { get; }

    public bool IsCredit { get; }

    public bool IsBooked { get; }

    public IEnumerable<BankEntry> Lines()
    {
        var booked = DayOf("BookgDt") ?? throw MoneyFileException.At(line, "Ntry/BookgDt", "a booked entry has a booking date.", "ISO 20022");
        var details = entry.Elements(space + "NtryDtls").SelectMany(one => one.Elements(space + "TxDtls")).ToList();
        if (details.Count < 2)
        {
            var only = details.FirstOrDefault();
            var detailed = only is null ? null : PartOf(only);
            var fault = detailed is { } told && told != Amount ? $"its one detail is of {told}, and {Amount} was booked" : TakenBack();
            return [Of(only, booked, Amount, IsCredit, 0) with { Fault = fault }];
        }

        var parts = details.ConvertAll(detail => (Detail: detail, Amount: PartOf(detail), IsCredit: detail.Element(space + "CdtDbtInd") is null ? IsCredit
            : IsCreditOf(detail, space, line, "TxDtls")));
        var sum = Money.Zero;
        foreach (var part in parts) { sum += part.IsCredit == IsCredit ? part.Amount ?? Money.Zero : Money.Zero - (part.Amount ?? Money.Zero); }
        return parts.All(part => part.Amount is not null) && sum == Amount
            ? parts.Select((part, index) => Of(part.Detail, booked, part.Amount!.Value, part.IsCredit, index + 1) with { Fault = TakenBack() })
            : [Of(null, booked, Amount, IsCredit, 0) with { Fault = $"its {parts.Count} details add up to {sum}, and {Amount} was booked" }];
    }

    public static Money AmountOf(XElement? amount, long line, string name)
    {
        if (amount is null) { throw MoneyFileException.At(line, name, "there is no amount.", "ISO 20022"); }
        var currency = amount.Attribute("Ccy")?.Value ?? throw MoneyFileException.At(line, name, "the amount names no currency.", "ISO 20022");
        return currency == "USD" ? Number(amount.Value, line, name) : throw MoneyFileException.Currency(line, name, currency);
    }

    /// <summary>A decimal of the standard, which may leave out cents and write more zeros; more than whole cents is no amount in dollars.</summary>
    public static Money Number(string text, long line, string name)
    {
        text = text.Trim();
        var dot = text.IndexOf('.', StringComparison.Ordinal);
        var cents = dot < 0 ? text : text[..dot] + "." + text[(dot + 1)..].TrimEnd('0').PadRight(2, '0');
        if (cents.StartsWith('.')) { cents = "0" + cents; }
        return Decimal().IsMatch(text) && Money.TryParse(cents, out var money)
            ? money
            : throw MoneyFileException.At(line, name, $"'{text}' is not dollars and whole cents.", "ISO 4217: two decimals of the US dollar");
    }

    public static bool IsCreditOf(XElement element, XNamespace space, long line, string name) => element.Element(space + "CdtDbtInd")?.Value.Trim() switch
    {
        "CRDT" => true,
        "DBIT" => false,
        null => throw MoneyFileException.At(line, $"{name}/CdtDbtInd", "it does not say whether money came in or went out.", "ISO 20022"),
        var other => throw MoneyFileException.At(line, $"{name}/CdtDbtInd", $"'{other}' is neither CRDT nor DBIT.", "ISO 20022"),
    };

    private BankEntry Of(XElement? detail, LocalDate booked, Money amount, bool isCredit, int part)
    {
        var (place, ordinal) = ($"line {line}{(part > 0 ? $", detail {part}" : "")}", next());
        var own = Text(detail, "Refs", "AcctSvcrRef");
        var around = entry.Element(space + "AcctSvcrRef")?.Value.Trim();
        // An advice may name the detail where the statement names the entry alone: of an entry that is one line its own reference counts.
        var reference = part > 0 ? own ?? (around is null ? null : $"{around}/{part}") : around ?? own;
        var id = reference is null ? BankEntry.IdIn(digest, ordinal) : BankEntry.IdOf(account, reference, booked, isCredit ? amount : Money.Zero - amount);
        var known = reference is not null && names.IsFirst(Convert.ToUInt64(id[2..18], 16));
        return new BankEntry
        {
            Id = known || reference is null ? id : BankEntry.IdIn(digest, ordinal), Reference = reference, IsRecognisable = known, Account = account.Length > 4 ? account[^4..]
                : account,
            BookedOn = booked, ValueOn = DayOf("ValDt"), Amount = amount, IsCredit = isCredit,
            EndToEnd = Text(detail, "Refs", "EndToEndId") is { } given && given != "NOTPROVIDED" ? given : null,
            Text = Written(detail), ReturnCode = ReturnOf(detail), Place = place,
        };
    }

    /// <summary>A booking that undoes another one brings a family's money neither in nor back.</summary>
    private string? TakenBack() => entry.Element(space + "RvslInd")?.Value.Trim() is "true" or "1" && IsCredit ? "the bank took a booking of its own back (RvslInd)" : null;

    /// <summary>The ACH code where the file has it in a field of the bank's own or in words, else the code of the standard.</summary>
    private string? ReturnOf(XElement? detail)
    {
        var back = detail?.Element(space + "RtrInf");
        if (back is null) { return null; }
        var own = back.Element(space + "Rsn")?.Element(space + "Prtry")?.Value.Trim();
        if (own is not null && AchCode().IsMatch(own)) { return own; }
        var words = back.Elements(space + "AddtlInf").Select(one => AchCode().Match(one.Value)).FirstOrDefault(match => match.Success);
        return words?.Value ?? own ?? back.Element(space + "Rsn")?.Element(space + "Cd")?.Value.Trim() ?? "none";
    }

    /// <summary>What was written with it, who sent it included: for a person to decide by, never for the history.</summary>
    private string Written(XElement? detail)
    {
        var about = detail?.Element(space + "RmtInf");
        var parties = detail?.Element(space + "RltdPties");
        var debtor = parties?.Element(space + "Dbtr");
        string?[] words =
        [
            .. about?.Elements(space + "Ustrd").Select(one => one.Value) ?? [],
            .. about?.Elements(space + "Strd").Select(one => one.Element(space + "CdtrRefInf")?.Element(space + "Ref")?.Value) ?? [],
            detail?.Element(space + "AddtlTxInf")?.Value, entry.Element(space + "AddtlNtryInf")?.Value,
            debtor?.Element(space + "Nm")?.Value ?? debtor?.Element(space + "Pty")?.Element(space + "Nm")?.Value,
        ];
        var text = string.Join(" / ", words.OfType<string>().Select(word => word.Trim()).Where(word => word.Length > 0));
        return text.Length > 500 ? text[..500] : text;
    }

    private string? Text(XElement? from, string outer, string inner) => from?.Element(space + outer)?.Element(space + inner)?.Value.Trim() is { Length: > 0 } text ? text : null;

    private Money? PartOf(XElement detail) =>
        (detail.Element(space + "Amt") ?? detail.Element(space + "AmtDtls")?.Element(space + "TxAmt")?.Element(space + "Amt")) is { } amount
            ? AmountOf(amount, line, "TxDtls/Amt") : null;

    private LocalDate? DayOf(string name)
    {
        if (entry.Element(space + name) is not { } given) { return null; }
        var text = (given.Element(space + "Dt") ?? given.Element(space + "DtTm"))?.Value.Trim() ?? "";
        var parsed = LocalDatePattern.Iso.Parse(text.Length > 10 && text[10] == 'T' ? text[..10] : text);
        return parsed.Success ? parsed.Value : throw MoneyFileException.At(line, $"Ntry/{name}", $"'{text}' is not a date such as 2026-09-05.", "ISO 8601");
    }

    [GeneratedRegex(@"^\d{1,12}(\.\d{1,5})?$|^\.\d{1,5}$")]
    private static partial Regex Decimal();

    [GeneratedRegex(@"\bR\d{2}\b")]
    private static partial Regex AchCode();
}
