using System.Collections.Frozen;
using System.Collections.Immutable;
using System.Text;
using System.Text.Json;
using Contracts.Agreements;

namespace Contracts.Books;

/// <summary>What kind of account it is: which statement it is on, and on which side it grows.</summary>
public enum AccountType
{
    Asset,
    Liability,
    Income,
    Expense,

    /// <summary>Outside the balance sheet, in a commodity of its own.</summary>
    Memo,
}

/// <summary>One account of a chart.</summary>
/// <param name="Account">What it is for.</param>
/// <param name="Number">Its number in the shop's books.</param>
/// <param name="Title">Its name in words.</param>
/// <param name="Type">Its kind.</param>
/// <param name="Commodity">What it counts: USD, or a memo commodity.</param>
public sealed record ChartAccount(BookAccount Account, string Number, string Title, AccountType Type, string Commodity);

/// <summary>
/// The chart of accounts: number, name and kind of every account the rules post to. Data: a shop brings its own file.
/// </summary>
public sealed class Chart
{
    public const string Dollars = "USD";

    private readonly FrozenDictionary<BookAccount, ChartAccount> byAccount;

    private Chart(string name, string text, ImmutableArray<ChartAccount> accounts)
    {
        Name = name;
        Text = text;
        Accounts = accounts;
        byAccount = accounts.ToFrozenDictionary(account => account.Account);
    }

    public string Name { get; }

    /// <summary>The file as it was given: a closed month keeps it, so that its packet can be made again.</summary>
    public string Text { get; }

    /// <summary>In the order of their numbers.</summary>
    public ImmutableArray<ChartAccount> Accounts { get; }

    /// <summary>The chart that comes with the program.</summary>
    public static Chart Standard { get; } = ReadStandard();

    public ChartAccount this[BookAccount account] => byAccount[account];

    /// <summary>
    /// The name the exported journal uses, such as <c>Liabilities:2300-Deferred-rent</c>; sales tax has one for each
    /// authority, as in <c>2100-Sales-tax-payable:2100-Wexmoor-County</c>. Letters, digits and hyphens only, and a
    /// capital or a digit first, so that every ledger program reads it.
    /// </summary>
    public string NameOf(BookAccount account, string authority)
    {
        var entry = byAccount[account];
        var root = entry.Type switch
        {
            AccountType.Asset => "Assets",
            AccountType.Liability => "Liabilities",
            AccountType.Income => "Income",
            AccountType.Expense => "Expenses",
            _ => "Equity:Memo",
        };
        var name = $"{root}:{entry.Number}-{Plain(entry.Title)}";
        return authority.Length == 0 ? name : $"{name}:{entry.Number}-{Authority(authority)}";
    }

    /// <summary>Reads a chart; exactly one of the two answers is given.</summary>
    public static (Chart? Chart, Refusal? Refusal) Parse(string text)
    {
        try
        {
            using var document = JsonDocument.Parse(text);
            return (Read(document.RootElement, text), null);
        }
        catch (JsonException)
        {
            return (null, Fault("The chart of accounts is not JSON."));
        }
        catch (ChartFault fault)
        {
            return (null, Fault(fault.Message));
        }
    }

    private static Chart Read(JsonElement root, string text)
    {
        if (root.ValueKind != JsonValueKind.Object || !root.TryGetProperty("accounts", out var list) || list.ValueKind != JsonValueKind.Array)
        {
            throw new ChartFault("A chart of accounts has a list of `accounts`.");
        }

        var accounts = new Dictionary<BookAccount, ChartAccount>();
        var numbers = new HashSet<string>(StringComparer.Ordinal);
        foreach (var item in list.EnumerateArray())
        {
            var account = ReadAccount(item);
            if (!accounts.TryAdd(account.Account, account)) { throw new ChartFault($"The account '{account.Account}' is there twice."); }
            if (!numbers.Add(account.Number)) { throw new ChartFault($"The number {account.Number} is given twice."); }
        }

        foreach (var wanted in Enum.GetValues<BookAccount>())
        {
            if (!accounts.ContainsKey(wanted)) { throw new ChartFault($"The account '{wanted}' is missing."); }
        }

        var name = root.TryGetProperty("name", out var given) && given.ValueKind == JsonValueKind.String ? given.GetString()! : "chart";
        return new Chart(name, text, [.. accounts.Values.OrderBy(account => account.Number, StringComparer.Ordinal)]);
    }

    private static ChartAccount ReadAccount(JsonElement item)
    {
        var role = Field(item, "role");
        if (!Enum.TryParse<BookAccount>(role, out var account) || !Enum.IsDefined(account) || char.IsAsciiDigit(role[0]))
        {
            throw new ChartFault($"There is no account '{role}'.");
        }

        var (number, title, kind) = (Field(item, "number"), Field(item, "name"), Field(item, "type"));
        if (!number.All(letter => char.IsAsciiDigit(letter) || char.IsAsciiLetterUpper(letter)))
        {
            throw new ChartFault($"The number of '{role}' has digits and capital letters only.");
        }

        if (!Enum.TryParse<AccountType>(kind, ignoreCase: true, out var type) || !Enum.IsDefined(type) || char.IsAsciiDigit(kind[0]))
        {
            throw new ChartFault($"'{kind}' is not asset, liability, income, expense or memo.");
        }

        if ((type == AccountType.Memo) != account >= BookAccount.EquityHeld) { throw new ChartFault($"'{role}' cannot be of type {kind}."); }
        return new ChartAccount(account, number, title, type, type == AccountType.Memo ? Commodity(item) : Dollars);
    }

    private static string Commodity(JsonElement item)
    {
        var commodity = Field(item, "commodity");
        return commodity != Dollars && commodity.Length is >= 3 and <= 12 && commodity.All(char.IsAsciiLetterUpper)
            ? commodity
            : throw new ChartFault("A memo account counts in a commodity of 3 to 12 capital letters that is not USD.");
    }

    private static string Field(JsonElement item, string name) =>
        item.ValueKind == JsonValueKind.Object && item.TryGetProperty(name, out var value)
            && value.ValueKind == JsonValueKind.String && value.GetString() is { Length: > 0 and <= 60 } text
            ? text
            : throw new ChartFault($"Every account of a chart has a `{name}` of 1 to 60 characters.");

    private static string Plain(string words)
    {
        var plain = new StringBuilder(words.Length);
        foreach (var letter in words) { plain.Append(char.IsAsciiLetterOrDigit(letter) ? letter : '-'); }
        return plain.ToString();
    }

    /// <summary>
    /// An authority in letters, digits and hyphens. Words with single spaces between them are told apart by their letters;
    /// what else stood where a hyphen is now is listed behind, so that no two authorities ever share a name.
    /// </summary>
    private static string Authority(string name)
    {
        var marks = new StringBuilder();
        var isWords = true;
        for (var index = 0; index < name.Length; index++)
        {
            var letter = name[index];
            if (char.IsAsciiLetterOrDigit(letter)) { continue; }
            var isBetween = index > 0 && char.IsAsciiLetterOrDigit(name[index - 1]) && index < name.Length - 1;
            isWords = isWords && letter == ' ' && isBetween;
            if (letter == ' ') { marks.Append('s'); }
            else if (letter == '-') { marks.Append('h'); }
            else { marks.Append('x').Append(((int)letter).ToString("x", System.Globalization.CultureInfo.InvariantCulture)).Append('x'); }
        }

        return isWords ? Plain(name) : $"{Plain(name)}--{marks}";
    }

    private static Chart ReadStandard()
    {
        using var file = typeof(Chart).Assembly.GetManifestResourceStream("chart-of-accounts.json")
            ?? throw new InvalidOperationException("The program was built without its chart of accounts.");
        using var reader = new StreamReader(file);
        return Parse(reader.ReadToEnd()).Chart ?? throw new InvalidOperationException("The chart of accounts in the program is broken.");
    }

    private static Refusal Fault(string detail) => new(RefusalCode.ChartInvalid, detail, "chart");

    private sealed class ChartFault(string message) : Exception(message);
}
