using Contracts.Host.Serving.SignIn;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Xunit;

namespace Contracts.Host.Tests.Serving.SignIn;

/// <summary>People, from the command line.</summary>
public sealed class UserCommandTests(Server server)
{
    [Fact]
    public async Task A_password_is_made_and_printed_once_or_read_and_never_listed()
    {
        var database = await server.NewDatabaseAsync();
        var made = await Shell.ContractsAsync(database, "user", "add", "Ada of the desk", "--role", "counter", "--by", "An owner");
        Assert.True(made.Exit == 0, made.Error);
        var password = made.Output.Trim();
        Assert.Matches("^[a-z2-9]{4}(-[a-z2-9]{4}){4}$", password);
        Assert.DoesNotContain(password, made.Error, StringComparison.Ordinal);
        Assert.Equal(0, (await Shell.ContractsReadingAsync(database, "seven invented words\n", "user", "add", "Bo", "--role", "auditor", "--read-password")).Exit);
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        Assert.True(new Passwords().Matches(await store.People.FindAsync("ada OF the desk"), password, out _));
        Assert.True(new Passwords().Matches(await store.People.FindAsync("Bo"), "seven invented words", out _));
        var listed = (await Shell.ContractsAsync(database, "user", "list", "--format", "json")).Output;
        Assert.Contains("\"name\":\"Ada of the desk\",\"role\":\"counter\"", listed, StringComparison.Ordinal);
        Assert.Contains("\"madeBy\":\"An owner\"", listed, StringComparison.Ordinal);
        Assert.DoesNotContain((await store.People.FindAsync("Bo"))!.Hash, listed, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_name_is_given_once_and_what_cannot_be_is_wrong_usage()
    {
        var database = await server.NewDatabaseAsync();
        Assert.Equal(0, (await Shell.ContractsAsync(database, "user", "add", "Bo", "--role", "counter")).Exit);
        Assert.Equal(2, (await Shell.ContractsAsync(database, "user", "add", "BO ", "--role", "manager")).Exit);
        Assert.Equal(2, (await Shell.ContractsAsync(database, "user", "add", "Cy", "--role", "king")).Exit);
        Assert.Equal(2, (await Shell.ContractsAsync(database, "user", "add", " ", "--role", "counter")).Exit);
        Assert.Equal(2, (await Shell.ContractsReadingAsync(database, "password1234\n", "user", "add", "Cy", "--role", "counter", "--read-password")).Exit);
        Assert.Equal(2, (await Shell.ContractsAsync(database, "user", "disable", "Cy")).Exit);
        Assert.Equal(2, (await Shell.ContractsAsync(database, "user", "password", "Cy")).Exit);
        Assert.Equal(0, (await Shell.ContractsAsync(database, "user", "disable", "bo", "--by", "A manager")).Exit);
        Assert.Equal(0, (await Shell.ContractsAsync(database, "user", "disable", "bo", "--by", "Another")).Exit);
        await using var store = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        var only = Assert.Single(await store.People.ListAsync());
        Assert.Equal(("Bo", "counter", "A manager"), (only.Name, only.Role, only.DisabledBy));
    }
}
