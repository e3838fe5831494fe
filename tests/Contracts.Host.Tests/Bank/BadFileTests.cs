using System.Text;
using Contracts.Agreements;
using Contracts.Host.Bank;
using Xunit;

namespace Contracts.Host.Tests.Bank;

/// <summary>Files that cannot be used, and lines in them: each is refused by its name, with line and element. Everything in them is invented.</summary>
public sealed class BadFileTests
{
    private const string Good = "fixtures/bank/fernhollow-2027-06-15.camt053.xml";

    public static readonly TheoryData<string, string, string, string> BadMessages = new()
    {
        { "<Document xmlns", "<!DOCTYPE d [<!ENTITY a \"aaaa\">]><Document xmlns", "money-file-unreadable", "DOCTYPE" },
        { "Rent C-1002", "&undeclared;", "money-file-unreadable", "Line " },
        { "<MsgId>", "<MsgId", "money-file-unreadable", "no XML" },
        { "encoding=\"UTF-8\"", "encoding=\"ISO-8859-1\"", "money-file-unreadable", "ISO-8859-1" },
        { "camt.053.001.08", "camt.053.001.99", "money-file-unreadable", "02, 04, 08" },
        { "camt.053.001.08", "camt.052.001.08", "money-file-unreadable", "02, 04, 08" },
        { "Ccy=\"USD\">158.14", "Ccy=\"EUR\">158.14", "money-file-currency", "EUR" },
        { "<Amt Ccy=\"USD\">158.14</Amt>", "<Amt Ccy=\"USD\">158.145</Amt>", "money-file-unreadable", "'158.145'" },
        { "<Amt Ccy=\"USD\">158.14</Amt>", "<Amt>158.14</Amt>", "money-file-unreadable", "no currency" },
        { "<Amt Ccy=\"USD\">158.14</Amt>", "<Amt Ccy=\"USD\">1e3</Amt>", "money-file-unreadable", "'1e3'" },
        { "<CdtDbtInd>DBIT</CdtDbtInd>", "<CdtDbtInd>OUT</CdtDbtInd>", "money-file-unreadable", "Ntry/CdtDbtInd" },
        { "<BookgDt><Dt>2027-06-15</Dt></BookgDt>", "<BookgDt><Dt>27-06-15</Dt></BookgDt>", "money-file-unreadable", "'27-06-15'" },
        { "<BookgDt><Dt>2027-06-15</Dt></BookgDt>", "", "money-file-unreadable", "Ntry/BookgDt" },
        { "<Sts><Cd>BOOK</Cd></Sts>", "", "money-file-unreadable", "Ntry/Sts" },
        { "<Cd>CLBD</Cd>", "<Cd>CLAV</Cd>", "money-file-unreadable", "CLBD" },
        { "13317.69", "13317.70", "money-file-does-not-add-up", "13317.69" },
        { "<Sts><Cd>BOOK</Cd></Sts>", "<Sts><Cd>PDNG</Cd></Sts>", "money-file-does-not-add-up", "12400.00" },
    };

    [Theory]
    [MemberData(nameof(BadMessages))]
    public void A_message_that_is_wrong_is_refused_whole_and_says_where(string from, string to, string code, string says)
    {
        var text = File.ReadAllText(Path.Combine(Root, Good));
        var refusal = Refusal(Encoding.UTF8.GetBytes(text.Replace(from, to, StringComparison.Ordinal)));
        Assert.Equal(code, refusal.Slug);
        Assert.Contains(says, refusal.Detail, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("<TxDtls>\n            <Refs><EndToEndId>C-1005</EndToEndId></Refs>\n            <Amt Ccy=\"USD\">158.14", "<TxDtls>\n            <Refs><EndToEndId>C-1005</EndToEndId></Refs>\n            <Amt Ccy=\"USD\">158.13", "158.13")]
    [InlineData("<Amt Ccy=\"USD\">158.14</Amt>\n        <CdtDbtInd>CRDT</CdtDbtInd>", "<Amt Ccy=\"USD\">158.14</Amt>\n        <CdtDbtInd>CRDT</CdtDbtInd>\n        <RvslInd>true</RvslInd>", "RvslInd")]
    public void An_entry_that_may_not_be_what_it_seems_is_left_to_a_person(string from, string to, string says)
    {
        var text = File.ReadAllText(Path.Combine(Root, Good)).ReplaceLineEndings("\n");
        Assert.Contains(from, text, StringComparison.Ordinal);
        var path = Path.GetTempFileName();
        File.WriteAllText(path, text.Replace(from, to, StringComparison.Ordinal));
        var lines = Entries(path);
        Assert.Contains(says, Assert.Single(lines, line => line.Fault is not null).Fault, StringComparison.Ordinal);
        Assert.Equal(158_14, lines.Single(line => line.Fault is not null).Amount.Cents);
    }

    [Fact]
    public void A_line_has_its_name_from_the_entry_where_a_statement_and_an_advice_tell_different_things_of_it()
    {
        var text = File.ReadAllText(Path.Combine(Root, Good));
        var path = Path.GetTempFileName();
        File.WriteAllText(path, text.Replace("<Refs><EndToEndId>C-1005</EndToEndId></Refs>", "<Refs><AcctSvcrRef>X-1</AcctSvcrRef><EndToEndId>C-1005</EndToEndId></Refs>", StringComparison.Ordinal));
        Assert.Equal(Entries(Path.Combine(Root, Good)).Select(line => line.Id), Entries(path).Select(line => line.Id));
    }

    [Fact]
    public void Entities_that_would_grow_without_end_and_files_from_elsewhere_are_never_opened()
    {
        var bomb = "<!DOCTYPE b [<!ENTITY a \"x\"><!ENTITY b \"" + string.Concat(Enumerable.Repeat("&a;", 100)) + "\">]><Document>&b;</Document>";
        Assert.Equal("DOCTYPE", Refusal(Encoding.UTF8.GetBytes(bomb)).Field);
        Assert.Equal("DOCTYPE", Refusal("<!DOCTYPE b SYSTEM \"file:///etc/hostname\"><Document/>"u8.ToArray()).Field);
    }

    [Fact]
    public void A_single_element_as_long_as_a_file_is_given_up_early()
    {
        var text = File.ReadAllText(Path.Combine(Root, Good)).Replace("Rent C-1002", new string('x', 6 << 20), StringComparison.Ordinal);
        Assert.Contains("characters", Refusal(Encoding.UTF8.GetBytes(text)).Detail, StringComparison.Ordinal);
        var deep = File.ReadAllText(Path.Combine(Root, Good)).Replace("<RmtInf>", string.Concat(Enumerable.Repeat("<RmtInf>", 60)), StringComparison.Ordinal)
            .Replace("</RmtInf>", string.Concat(Enumerable.Repeat("</RmtInf>", 60)), StringComparison.Ordinal);
        Assert.Contains("deep", Refusal(Encoding.UTF8.GetBytes(deep)).Detail, StringComparison.Ordinal);
    }

    [Fact]
    public void Bytes_that_are_not_UTF_8_are_refused_and_not_guessed()
    {
        var text = File.ReadAllText(Path.Combine(Root, Good)).Replace("clarinet", "clarinét", StringComparison.Ordinal);
        Assert.Equal("encoding", Refusal(Encoding.Latin1.GetBytes(text.Replace("UTF-8", "utf-8", StringComparison.Ordinal))).Field);
        Assert.Equal("encoding", Refusal([0xFF, 0xFE, .. Encoding.Unicode.GetBytes(text)]).Field);
        Assert.Equal("encoding", Refusal([.. "A,B\n1"u8, 0xE9, .. ",2\n"u8], Mapping("""{"name":"m","account":"1","columns":{"bookedOn":"A","amount":"B"}}""")).Field);
    }

    [Theory]
    [InlineData("2026-09-05,SB-1,39.00,=HYPERLINK(1)", "begins with =")]
    [InlineData("2026-09-05,SB-1,39.00,+1", "begins with +")]
    [InlineData("2026-09-05,@SB,39.00,rent", "begins with @")]
    [InlineData("2026-09-05,-SB,39.00,rent", "begins with -")]
    [InlineData("26-09-05,SB-1,39.00,rent", "four digits")]
    [InlineData("2026-02-30,SB-1,39.00,rent", "not a day")]
    [InlineData("2026-09-05,SB-1,39.005,rent", "'39.005'")]
    [InlineData("2026-09-05,SB-1,39,5,rent", "5 fields")]
    [InlineData("2026-09-05,SB-1,39", "3 fields")]
    [InlineData("2026-09-05,SB-1,+39.00,rent", "'+39.00'")]
    public void A_bad_line_is_named_and_the_rest_goes_on(string line, string says)
    {
        var (file, bad, _, _) = Check($"Posted,Reference,Amount,Text\n2026-09-04,SB-0,10.00,good\n{line}\n2026-09-06,SB-2,-11.00,good\n", Simple);
        Assert.Equal(2, file.Statements.Single().Lines);
        Assert.Contains("Line 3", Assert.Single(bad).Detail, StringComparison.Ordinal);
        Assert.Contains(says, bad[0].Detail, StringComparison.Ordinal);
    }

    [Fact]
    public void Where_a_balance_holds_the_lines_together_a_bad_line_makes_the_whole_unusable()
    {
        const string with = """{"name":"m","account":"1","columns":{"bookedOn":"Posted","reference":"Reference","amount":"Amount","text":["Text"],"balance":"Balance"}}""";
        const string head = "Posted,Reference,Amount,Text,Balance\n2026-09-04,SB-0,10.00,good,110.00\n";
        Assert.Equal(("100.00", "109.00"), Check(head + "2026-09-05,SB-1,-1.00,good,109.00\n", with).File.Statements.Select(one => (one.Opening.ToString(), one.Closing.ToString())).Single());
        Assert.Equal("109.00", Refusal(Encoding.UTF8.GetBytes(head + "2026-09-05,SB-1,-1.00,good,109.01\n"), Mapping(with)).RightFigure);
        Assert.Equal("money-file-unreadable", Refusal(Encoding.UTF8.GetBytes(head + "2026-09-05,SB-1,-1.00,=bad,109.00\n"), Mapping(with)).Slug);
    }

    [Theory]
    [InlineData("""{"name":"m","account":"1","date":"MM/dd/yy","columns":{"bookedOn":"A","amount":"B"}}""", "date")]
    [InlineData("""{"name":"m","account":"1","columns":{"amount":"B"}}""", "columns.bookedOn")]
    [InlineData("""{"name":"m","account":"1","columns":{"bookedOn":"A","amount":"B","credit":"C"}}""", "columns.amount")]
    [InlineData("""{"name":"m","account":"1","colums":{}}""", "colums")]
    [InlineData("""{"name":"m","account":"1","decimal":"'","columns":{"bookedOn":"A","amount":"B"}}""", "decimal")]
    [InlineData("[]", "mapping")]
    public void A_mapping_that_does_not_fit_together_names_its_field(string json, string field) =>
        Assert.Equal((RefusalCode.MoneyMappingInvalid, field), CsvMapping.Read(Encoding.UTF8.GetBytes(json)) is (null, { } refusal) ? (refusal.Code, refusal.Field) : default);

    [Fact]
    public void A_file_of_values_needs_a_mapping_and_the_columns_it_names()
    {
        Assert.Equal("money-mapping-invalid", Refusal("A,B\n"u8.ToArray()).Slug);
        Assert.Contains("0 columns", Refusal("A,B\n1,2\n"u8.ToArray(), Mapping(Simple)).Detail, StringComparison.Ordinal);
        Assert.Contains("2 columns", Refusal("Posted,Posted,Reference,Amount,Text\n"u8.ToArray(), Mapping(Simple)).Detail, StringComparison.Ordinal);
        Assert.Equal("money-file-currency", Refusal(
            "Posted,Amount,Money\n2026-09-05,1.00,CAD\n"u8.ToArray(), Mapping("""{"name":"m","account":"1","columns":{"bookedOn":"Posted","amount":"Amount","currency":"Money"}}""")).Slug);
    }

    [Fact]
    public void The_demo_files_are_read_and_one_schema_written_here_refuses_what_it_forbids()
    {
        var (file, bad, _, _) = MoneyFiles.Check(new MoneyFile(Path.Combine(Root, Good), "s.xml", null));
        Assert.Equal(("camt.053.001.08", 7L, "4821"), (file.Form, file.Statements.Single().Lines, file.Statements.Single().Account));
        Assert.Empty(bad);
        // A schema of ours that asks for another root: the reader holds a message against whatever schema it is given.
        var schema = Path.GetTempFileName();
        File.WriteAllText(schema, """
            <xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" targetNamespace="urn:iso:std:iso:20022:tech:xsd:camt.053.001.08"><xs:element name="Other"/></xs:schema>
            """);
        Assert.Equal("schema", Assert.Throws<MoneyFileException>(() => MoneyFiles.Check(new MoneyFile(Path.Combine(Root, Good), "s.xml", null, MoneyFiles.Schema([schema])))).Refusal.Field);
    }

    [Fact]
    public void A_name_that_stands_twice_in_a_file_is_the_first_lines_alone()
    {
        // Every third name comes again, the later the further; the filter's size is far above what they need, its answer only says which to count.
        var names = Enumerable.Range(0, 30_000).Select(number => number % 3 == 2 ? number / 2 : number).ToList();
        var path = Path.GetTempFileName();
        File.WriteAllText(path, "Posted,Reference,Amount,Text\n" + string.Concat(names.Select(name => $"2026-09-05,R-{name},5.00,a\n")));
        var met = new HashSet<int>();
        var lines = MoneyFiles.Lines(new MoneyFile(path, "file", Mapping(Simple)), "digest").ToList();
        Assert.Equal(names.Select(met.Add), lines.Select(line => line.IsRecognisable));
        Assert.True(met.Count < names.Count);
        Assert.Equal(lines.Count, lines.DistinctBy(line => line.Id).Count());
    }

    private const string Simple = """{"name":"m","account":"1","columns":{"bookedOn":"Posted","reference":"Reference","amount":"Amount","text":["Text"]}}""";

    private static string Root
    {
        get
        {
            var folder = AppContext.BaseDirectory;
            while (!File.Exists(Path.Combine(folder, "Contracts.sln"))) { folder = Path.GetDirectoryName(folder)!; }
            return folder;
        }
    }

    private static List<Contracts.Bank.BankEntry> Entries(string path) => [.. MoneyFiles.Lines(new MoneyFile(path, "s.xml", null), "digest")];

    private static CsvMapping Mapping(string json) => CsvMapping.Read(Encoding.UTF8.GetBytes(json)).Mapping!;

    private static CheckedFile Check(string text, string mapping)
    {
        var path = Path.GetTempFileName();
        File.WriteAllText(path, text);
        return MoneyFiles.Check(new MoneyFile(path, "file", Mapping(mapping)));
    }

    private static Refusal Refusal(byte[] bytes, CsvMapping? mapping = null)
    {
        var path = Path.GetTempFileName();
        File.WriteAllBytes(path, bytes);
        return Assert.Throws<MoneyFileException>(() => MoneyFiles.Check(new MoneyFile(path, "file", mapping))).Refusal;
    }
}
