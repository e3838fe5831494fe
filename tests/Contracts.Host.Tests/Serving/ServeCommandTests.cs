using Contracts.Host.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Serving;

/// <summary>Where the host may listen: keys and figures never go over a network in the clear.</summary>
public sealed class ServeCommandTests(Server server)
{
    [Theory]
    [InlineData("http://0.0.0.0:5080")]
    [InlineData("http://192.0.2.7:5080")]
    [InlineData("ftp://127.0.0.1:5080")]
    [InlineData("here")]
    public async Task An_open_address_without_https_is_wrong_usage(string url)
    {
        var refused = await Shell.ContractsWithAsync(server.Owner, "serve", "--urls", url);
        Assert.Equal((2, ""), (refused.Exit, refused.Output));
    }
}
